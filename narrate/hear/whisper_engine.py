"""Whisper by faster-whisper: the only place that uses it.

Windows are recognised in batches with hints; one can be heard again alone. Nothing heard earlier is
ever given as a prompt: beside the hints it would leave the decoder no room, and speech would be dropped in
silence.
"""

import math
import os
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import numpy as np

from narrate.errors import ModelError
from narrate.hear.audio import RATE, Samples
from narrate.hear.encoder import OneByOne
from narrate.hear.memory import available_bytes
from narrate.hear.recogniser import LONGEST_WINDOW_S, MARGIN_S, Heard, Stretch
from narrate.hear.weights import model_folder
from narrate.records.recording import Word
from narrate.settings import Settings

BLOCK_S = 300
"""Speech is looked for in blocks of this length: the detector copies what it is given three times."""
LARGEST_BATCH = 4
"""More windows at once are no quicker on two cores and only cost memory."""
ROOM_BYTES = 570_000_000
"""What a batch and the sound may take together, so that the whole process stays under 1 GB with the base model."""
WINDOW_SHARE = 0.6
"""Memory of one window of a batch as a share of the model file: measured for tiny.en and base."""
TEMPERATURES = (0.0, 0.2, 0.4, 0.6, 0.8)
COMPRESSION_LIMIT = 2.4
LOG_PROBABILITY_LIMIT = -1.0
NO_SPEECH_LIMIT = 0.6
SHORTEST_PAUSE_MS = 160


class WhisperEngine:
    """A `Recogniser` (see hear/recogniser.py) around one loaded Whisper model."""

    def __init__(
        self,
        model: Any,  # noqa: ANN401 - untyped package
        *,
        beam_size: int,
        batch_size: int,
        window_bytes: int = 0,
    ) -> None:
        """Take at most batch_size windows at once; fewer beside long sound if window_bytes says what one takes."""
        from faster_whisper import BatchedInferencePipeline

        self._model = model
        self._batches = BatchedInferencePipeline(model)
        self._beam_size = beam_size
        self._batch_size = batch_size
        self._window_bytes = window_bytes
        self.english_only = not model.model.is_multilingual

    def speech(self, samples: Samples) -> tuple[Stretch, ...]:
        """Return where somebody speaks, in order, without pauses and margins."""
        return speech_in(samples)

    def language(self, samples: Samples) -> tuple[str, float]:
        """Return the likeliest language (ISO 639-1) of at most 30 s of speech and its probability."""
        # Without the last frame, as batches are: then the encoding is the same and is not made twice.
        features = self._model.feature_extractor(samples)[..., :-1]
        language, probability, _ = self._model.detect_language(features=features)
        return language, probability

    def count_tokens(self, text: str) -> int:
        """Return how many of the model's tokens a text takes."""
        return len(self._model.hf_tokenizer.encode(text, add_special_tokens=False).ids)

    def listen(self, samples: Samples, windows: Sequence[Stretch], *, language: str, hints: str) -> Iterator[Heard]:
        """Recognise windows of at most 30 s each, in order, several at once."""
        for batch in _batches(windows, self._largest_batch(samples)):
            segments, _ = self._batches.transcribe(
                samples,
                language=language,
                beam_size=self._beam_size,
                temperature=0.0,
                condition_on_previous_text=False,
                word_timestamps=True,
                # With time stamps among the tokens, long pauses and hints together lose whole clauses.
                without_timestamps=True,
                clip_timestamps=[{"start": start_s, "end": end_s} for start_s, end_s in batch],
                batch_size=len(batch),
                hotwords=hints or None,
            )
            by_window = {key: tuple(group) for key, group in groupby(segments, key=lambda each: each.seek)}
            for window in batch:
                yield _heard(by_window.get(_seek(window), ()), window, shift_s=0.0)

    def _largest_batch(self, samples: Samples) -> int:
        """Return how many windows of a recording to recognise at once."""
        if not self._window_bytes:
            return self._batch_size
        return max(1, min(self._batch_size, (ROOM_BYTES - samples.nbytes) // self._window_bytes))

    def listen_again(self, samples: Samples, window: Stretch, *, language: str) -> Heard:
        """Recognise one window slowly, without hints, trying higher temperatures where it fails."""
        from ctranslate2 import set_random_seed

        # Higher temperatures draw at random: the same recording must give the same words.
        set_random_seed(0)
        start_s, end_s = window
        segments, _ = self._model.transcribe(
            samples[int(start_s * RATE) : int(end_s * RATE)],
            language=language,
            beam_size=self._beam_size,
            temperature=TEMPERATURES,
            compression_ratio_threshold=COMPRESSION_LIMIT,
            log_prob_threshold=LOG_PROBABILITY_LIMIT,
            no_speech_threshold=NO_SPEECH_LIMIT,
            condition_on_previous_text=False,
            word_timestamps=True,
            hallucination_silence_threshold=2.0,
            vad_filter=False,
        )
        return _heard(tuple(segments), window, shift_s=start_s)


def speech_in(samples: Samples) -> tuple[Stretch, ...]:
    """Return where somebody speaks, in order, without pauses and margins. Needs no speech model."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    longest_s = LONGEST_WINDOW_S - 2 * MARGIN_S
    options = VadOptions(max_speech_duration_s=longest_s, min_silence_duration_ms=SHORTEST_PAUSE_MS, speech_pad_ms=0)
    margin = int(MARGIN_S * RATE)
    found: list[Stretch] = []
    at = 0
    while at < samples.size:
        block = samples[at : at + BLOCK_S * RATE]
        stretches = get_speech_timestamps(block, options)
        end = at + block.size
        if end < samples.size and stretches and stretches[-1]["start"] > margin:
            # The last stretch may go on beyond the block: the next block begins with it.
            end = at + int(stretches.pop()["start"]) - margin
        found += [((at + each["start"]) / RATE, (at + each["end"]) / RATE) for each in stretches]
        at = end
    return tuple(found)


def load_engine(settings: Settings, *, model: str | None = None) -> WhisperEngine:
    """Return the engine for a model (a name or a folder; None: that of the settings), loaded once a process.

    Raises ModelError when the model is missing, damaged or cannot be loaded.
    """
    name = model or settings.model
    threads = settings.threads or _processors()
    if settings.device == "cuda":
        _require_card()
    return _load(name, settings.device, settings.compute_type, settings.beam_size, threads, settings.batch_size)


def _require_card() -> None:
    """Raise ModelError unless there is a CUDA card."""
    from ctranslate2 import get_cuda_device_count

    if not get_cuda_device_count():
        message = "There is no CUDA card here that can be used; leave out --device cuda, or set device to 'cpu'."
        raise ModelError(message)


@cache
def _load(name: str, device: str, compute_type: str, beam_size: int, threads: int, batch_size: int) -> WhisperEngine:
    """Load a model; the answers are kept, because loading costs half a second and memory each time."""
    folder = model_folder(name) or _fetched(name)
    import faster_whisper

    try:
        model = faster_whisper.WhisperModel(str(folder), device=device, compute_type=compute_type, cpu_threads=threads)
    except (RuntimeError, ValueError, OSError) as error:
        message = f"The speech model in {folder} cannot be loaded ({error}); get it again or name another."
        raise ModelError(message) from error
    if device == "cpu":
        # A card encodes a batch at once, and what it has encoded cannot be taken apart here.
        model.encode = OneByOne(model.encode)
    if batch_size:
        return WhisperEngine(model, beam_size=beam_size, batch_size=batch_size)
    window_bytes = int(WINDOW_SHARE * (folder / "model.bin").stat().st_size)
    size = _batch_for(window_bytes)
    return WhisperEngine(model, beam_size=beam_size, batch_size=size, window_bytes=window_bytes)


def _fetched(name: str) -> Path:
    """Return the folder of a model by faster-whisper's own name, fetched over the network if need be."""
    import faster_whisper

    try:
        return Path(faster_whisper.download_model(name))
    # Whatever goes wrong in there (no such name, no network, no space), the advice is the same.
    except Exception as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        message = (
            f"There is no speech model {name!r} here and it cannot be fetched ({reason}); name a folder, "
            "or a model that 'narrate models list' shows."
        )
        raise ModelError(message) from error


def _processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _batch_for(window_bytes: int) -> int:
    """Return how many windows to recognise at once, by what one takes and the memory there is."""
    room = min(available_bytes() // 2, ROOM_BYTES)
    return max(1, min(LARGEST_BATCH, room // window_bytes))


def _batches(windows: Sequence[Stretch], largest: int) -> Iterator[Sequence[Stretch]]:
    """Yield the windows in as few batches as can be, all of about one size: five go as 3 and 2, not 4 and 1."""
    count = math.ceil(len(windows) / largest)
    ends = [math.ceil(len(windows) * number / count) for number in range(count + 1)] if count else [0]
    for first, end in pairwise(ends):
        yield windows[first:end]


def _seek(window: Stretch) -> int:
    """Return the frame number by which the batched pipeline marks the segments of a window."""
    return int(int(window[0] * RATE) / RATE * 100)


def _heard(segments: Iterable[Any], window: Stretch, *, shift_s: float) -> Heard:
    """Return the segments of one window as one; an empty window counts as certain silence."""
    parts = tuple(segments)
    words = tuple(word for part in parts for word in _whole_words(part.words or (), shift_s))
    weights = [len(part.tokens) or 1 for part in parts]
    return Heard(
        start_s=window[0],
        end_s=window[1],
        words=words,
        average_log_probability=(
            float(np.average([part.avg_logprob for part in parts], weights=weights)) if parts else 0.0
        ),
        no_speech=max((float(part.no_speech_prob) for part in parts), default=1.0),
    )


def _whole_words(pieces: Iterable[Any], shift_s: float) -> list[Word]:
    """Words in one piece: the library gives "1" and ".8", "51" and ",200", "anti" and "-roll" apart.

    A piece that begins without a blank goes on with the word before it, whose probability is then the lesser.
    """
    words: list[Word] = []
    for piece in pieces:
        text = piece.word.strip()
        if not text:
            continue
        end_s, probability = round(piece.end + shift_s, 2), round(float(piece.probability), 3)
        if words and not piece.word.startswith(" "):
            before = words[-1]
            known = before.probability if before.probability is not None else 1.0
            changed = {"text": before.text + text, "end_s": end_s, "probability": min(known, probability)}
            words[-1] = before.model_copy(update=changed)
        else:
            start_s = round(piece.start + shift_s, 2)
            words.append(Word(text=text, start_s=start_s, end_s=end_s, probability=probability))
    return words
