"""What the shop's queue does with recordings: the pipeline, with the shop's settings and words as they are then."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from narrate.pipeline import judge_walkaround, process_recordings
from narrate.records.order import Order
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.store.engine import Store
from narrate.store.shop import shop_settings
from narrate.words.shop import shop_lexicon


@dataclass(frozen=True, kw_only=True)
class ShopSteps:
    """The steps of `work.queue` for a shop. Settings and words are read anew for each job: they may have changed."""

    store: Store
    settings: Callable[[], Settings]
    """What the settings file and this machine say; what the owner set for the shop is laid over it."""
    given: Mapping[str, str] = field(default_factory=dict)
    """Settings told for this very run; they count before all others."""

    def process(
        self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]
    ) -> Walkaround:
        """Recordings of one vehicle become a judged walkaround."""
        lexicon = shop_lexicon(self.store.folder)
        return process_recordings(paths, settings=self._settings(), lexicon=lexicon, order=order, progress=progress)

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround) -> Walkaround:
        """Judge it again beside the vehicle's walkaround of an earlier time."""
        here = self._settings().model_copy(update={"market": walkaround.market})
        lexicon = shop_lexicon(self.store.folder)
        return judge_walkaround(walkaround, settings=here, lexicon=lexicon, order=order, previous=previous)

    def _settings(self) -> Settings:
        return shop_settings(self.store, self.settings()).model_copy(update=dict(self.given))
