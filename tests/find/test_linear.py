"""The small linear models: narrate adds up the weights of named features, nothing more."""

import math

import pytest

from narrate.find.linear import Classes, load_joiner, logistic, most_likely, probability, weigh

CLASSES = Classes(
    names=("none", "ok", "fault"),
    weights={
        "bias": (1.0, 0.0, 0.0),
        "silent": (2.0, 0.0, 0.0),
        "fine": (0.0, 3.0, 0.0),
        "leaking": (0.0, 0.0, 3.0),
    },
)


def test_weights_of_the_features_add_up() -> None:
    assert 3.5 == weigh({"near": 4.0, "comma": -0.5}, ["near", "comma"])


def test_a_feature_never_seen_weighs_nothing() -> None:
    assert 4.0 == weigh({"near": 4.0}, ["near", "on the moon"])


def test_a_feature_seen_twice_weighs_twice() -> None:
    assert 8.0 == weigh({"near": 4.0}, ["near", "near"])


def test_no_weight_either_way_is_an_even_chance() -> None:
    assert 0.5 == logistic(0.0)


@pytest.mark.parametrize("total", [0.1, 1.0, 7.5, 29.0])
def test_chances_for_and_against_add_up_to_one(total: float) -> None:
    assert pytest.approx(1.0) == logistic(total) + logistic(-total)


@pytest.mark.parametrize("total", [1e9, -1e9])
def test_enormous_weights_do_no_harm(total: float) -> None:
    assert 0.0 < logistic(total) < 1.0


def test_the_bias_counts_once() -> None:
    assert pytest.approx(logistic(3.0)) == probability({"bias": 1.0, "near": 2.0}, ["near"])


def test_the_likeliest_class_is_chosen_with_its_share() -> None:
    chosen, share = most_likely(CLASSES, ["leaking"], unless="none", needed=0.9)
    whole = math.exp(1.0) + math.exp(0.0) + math.exp(3.0)
    assert ("fault", pytest.approx(math.exp(3.0) / whole)) == (chosen, share)


def test_the_class_of_last_resort_needs_to_be_sure() -> None:
    assert ["ok", "none"] == [
        most_likely(CLASSES, ["fine"] if needed > 0.5 else [], unless="none", needed=needed)[0] for needed in (0.9, 0.5)
    ]


def test_the_class_of_last_resort_is_not_chosen_just_for_being_likeliest() -> None:
    assert "none" != most_likely(CLASSES, [], unless="none", needed=0.99)[0]


def test_no_other_class_leaves_the_class_of_last_resort() -> None:
    assert ("none", 1.0) == most_likely(Classes(("none",), {}), [], unless="none", needed=2.0)


def test_the_order_of_features_does_not_matter() -> None:
    assert most_likely(CLASSES, ["fine", "silent"], unless="none", needed=0.5) == most_likely(
        CLASSES, ["silent", "fine"], unless="none", needed=0.5
    )


def test_the_shipped_weights_know_every_status() -> None:
    assert {"fault", "ok", "unclear", "unchecked", "work", "none"} == set(load_joiner().status.names)


def test_every_feature_has_a_weight_for_every_status() -> None:
    status = load_joiner().status
    assert {len(status.names)} == {len(row) for row in status.weights.values()}


def test_the_shipped_weights_are_numbers_and_read_once() -> None:
    joiner = load_joiner()
    every = [*joiner.link.values(), *joiner.same.values(), *(w for row in joiner.status.weights.values() for w in row)]
    assert (True, True) == (all(math.isfinite(weight) for weight in every), joiner is load_joiner())
