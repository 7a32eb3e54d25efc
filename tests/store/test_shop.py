"""What the owner sets, and how it lies over the settings file."""

from decimal import Decimal

import pytest

from narrate.errors import UsageError
from narrate.settings import Settings
from narrate.store.engine import Store
from narrate.store.events import read_events
from narrate.store.shop import Shop, change_shop, read_shop, shop_settings


def test_nothing_is_set_at_first(store: Store) -> None:
    assert read_shop(store) == Shop()
    settings = Settings(market="gb", model="tiny")
    assert shop_settings(store, settings) == settings


def test_what_is_set_is_kept_and_told(store: Store) -> None:
    change_shop(store, {"name": " Corner Garage ", "labor_rate": "135.50", "currency": "USD"}, who="Ann")
    change_shop(store, {"name": "Corner Garage", "currency": None}, who="Ben")
    change_shop(store, {"name": "Corner Garage"}, who="Cid")
    assert read_shop(store) == Shop(name="Corner Garage", labor_rate=Decimal("135.50"))
    first, second = read_events(store, "shop")
    assert [(change.kind, change.before, change.after) for change in first.changes] == [
        ("name", None, "Corner Garage"),
        ("labor_rate", None, "135.50"),
        ("currency", None, "USD"),
    ]
    assert [(change.kind, change.before, change.after) for change in second.changes] == [("currency", "USD", None)]


@pytest.mark.parametrize(
    "wrong",
    [
        {"market": "mars"},
        {"labor_rate": "-1"},
        {"labor_rate": "1.005"},
        {"labor_rate": "NaN"},
        {"currency": "usd"},
        {"email": "nobody"},
        {"colour": "red"},
        {"name": ""},
    ],
)
def test_what_cannot_be_is_refused(store: Store, wrong: dict[str, object]) -> None:
    with pytest.raises(UsageError, match=next(iter(wrong)).replace("_", " ")):
        change_shop(store, {"phone": "1", **wrong}, who="Ann")
    assert read_shop(store) == Shop()
    assert read_events(store, "shop") == ()


def test_a_check_may_refuse(store: Store) -> None:
    def no_such_model(shop: Shop) -> None:
        message = f"There is no model {shop.model}."
        raise UsageError(message)

    with pytest.raises(UsageError, match="no model huge"):
        change_shop(store, {"model": "huge"}, who="Ann", check=no_such_model)
    assert read_shop(store).model is None


def test_the_shop_counts_before_the_file_and_the_environment_before_both(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    change_shop(store, {"market": "gb", "model": "tiny.en", "rule_set": "gb"}, who="Ann")
    settings = Settings(market="us", model="base", beam_size=3)
    over = shop_settings(store, settings)
    assert (over.market, over.model, over.rule_set, over.beam_size) == ("gb", "tiny.en", "gb", 3)
    assert over.driver_sits == "right"
    monkeypatch.setenv("NARRATE_MODEL", "base")
    assert shop_settings(store, settings).model == "base"
