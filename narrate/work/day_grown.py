"""Files that were taken before they had all their bytes: what was made of the beginning gives way to the whole."""

from collections.abc import Iterable

from narrate.store.day_jobs import places
from narrate.store.engine import Store
from narrate.store.walkarounds import read_walkaround, set_aside
from narrate.work.day_intake import WHO, Item
from narrate.work.day_together import untouched


def set_aside_grown(store: Store, items: Iterable[Item]) -> None:
    """Set aside walkarounds of beginnings whose whole is heard, unless a person has worked on them."""
    for item in items:
        whole = places(store, [item.sha256])[item.sha256].walkaround if item.earlier else None
        for sha256, place in places(store, item.earlier if whole else ()).items():
            if place.walkaround is None or place.set_aside or place.walkaround == whole:
                continue
            held = read_walkaround(store, place.walkaround)
            alone = {each.sha256 for each in held.walkaround.recordings} == {sha256}
            if alone and untouched(store, held):
                why = f"The recording has grown since; {whole} has all of it."
                set_aside(store, held.id, who=WHO, why=why)
