"""What the shop's queue does with recordings: the pipeline, with the shop's settings and words as they are then."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from narrate.pipeline import hear_recordings, judge_walkaround, process_words
from narrate.records.order import Order
from narrate.records.recording import Recording
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
    threads: int = 0
    """Processor threads to hear with; 0: as the settings say. It changes nothing of what is heard."""

    def process(
        self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]
    ) -> Walkaround:
        """Recordings of one vehicle become a judged walkaround."""
        settings, lexicon = self.settings_now(), shop_lexicon(self.store.folder)
        hearing = settings.model_copy(update={"threads": self.threads or settings.threads})
        recordings = hear_recordings(paths, settings=hearing, lexicon=lexicon, progress=progress)
        return process_words(recordings, settings=settings, lexicon=lexicon, order=order)

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Walkaround:
        """Words as heard become a judged walkaround."""
        return process_words(
            recordings, settings=self.settings_now(), lexicon=shop_lexicon(self.store.folder), order=order
        )

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        """Judge it again, beside the vehicle's walkaround of an earlier time if there is one."""
        here = self.settings_now().model_copy(update={"market": walkaround.market})
        lexicon = shop_lexicon(self.store.folder)
        return judge_walkaround(walkaround, settings=here, lexicon=lexicon, order=order, previous=previous)

    def settings_now(self) -> Settings:
        """The settings that count for the next job."""
        return shop_settings(self.store, self.settings()).model_copy(update=dict(self.given))
