"""Any recording becomes mono sound at 16 kHz; what cannot is refused in one sentence."""

import re
from pathlib import Path

import numpy as np
import pytest

from narrate.errors import AudioError
from narrate.hear.audio import RATE, Sound, decode, stated_length_s


def sound_of(path: Path, *, min_duration_s: float = 0.3, max_duration_s: float = 60.0) -> Sound:
    return decode(path, min_duration_s=min_duration_s, max_duration_s=max_duration_s)


def level(sound: Sound) -> float:
    return float(np.sqrt(np.square(sound.samples[RATE // 2 : -RATE // 2]).mean()))


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".m4a", ".ogg", ".webm", ".mov", ".mp4"])
@pytest.mark.parametrize("channels", [1, 2])
def test_every_container_gives_the_same_sound(suffix, channels, tone, write):
    """A tone of two seconds comes back as long and as loud from every kind of file."""
    rate = 48_000 if suffix in (".ogg", ".webm") else 44_100
    path = write(f"walk{suffix}", tone(2.0, rate=rate, signs=(1.0,) * channels), rate=rate)
    sound = sound_of(path)
    assert sound.samples.dtype == np.float32
    assert sound.samples.ndim == 1
    assert sound.duration_s == pytest.approx(2.0, abs=0.1)
    assert level(sound) == pytest.approx(0.25 / np.sqrt(2), rel=0.05)
    assert sound.sample_rate == rate
    assert sound.notices == ()


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 32_000, 44_100, 96_000])
def test_every_rate_keeps_its_length(rate, tone, write):
    """Sound of any rate keeps its length and its pitch at 16 kHz."""
    sound = sound_of(write("walk.wav", tone(1.0, rate=rate), rate=rate))
    assert sound.duration_s == pytest.approx(1.0, abs=0.02)
    spectrum = np.abs(np.fft.rfft(sound.samples))
    assert spectrum.argmax() / sound.duration_s == pytest.approx(300, abs=3)


def test_the_sound_of_a_video_is_used(tone, write):
    """A video's sound track counts, its pictures do not."""
    assert sound_of(write("bay.mp4", tone(1.0), picture=True)).duration_s == pytest.approx(1.0, abs=0.1)


def test_channels_that_cancel_are_not_mixed(tone, write):
    """With one channel inverted the mean would be silence: the louder channel is taken."""
    sound = sound_of(write("walk.wav", tone(2.0, signs=(0.5, -0.4))))
    assert level(sound) == pytest.approx(0.5 * 0.25 / np.sqrt(2), rel=0.05)


def test_one_silent_channel_does_no_harm(tone, write):
    """A microphone on one channel only is still heard."""
    assert level(sound_of(write("walk.wav", tone(2.0, signs=(1.0, 0.0))))) > 0.08


def test_time_of_recording_is_read(tone, write):
    """The file's own time of recording is kept, as ISO 8601."""
    path = write("walk.m4a", tone(1.0), recorded_at="2024-05-03T10:20:30.000000Z")
    assert sound_of(path).recorded_at == "2024-05-03T10:20:30+00:00"


def test_an_epoch_is_no_time_of_recording(tone, write):
    """A device without a clock writes 1970, which is no date."""
    assert sound_of(write("walk.m4a", tone(1.0), recorded_at="1970-01-01T00:00:00Z")).recorded_at is None


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".webm", ".ogg"])
def test_a_file_that_breaks_off_is_used_as_far_as_it_goes(suffix, tone, write):
    """A copy cut in the middle gives its first part and a notice that says where it ends."""
    rng = np.random.default_rng(1)
    noise = (0.1 * rng.standard_normal((1, 10 * 48_000))).astype(np.float32)
    path = write(f"walk{suffix}", noise, rate=48_000)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) * 6 // 10])
    sound = sound_of(path)
    assert 4.5 < sound.duration_s < 7.0
    [notice] = sound.notices
    assert re.fullmatch(r"The file breaks off at 0:0[4-6]; what came after is lost\.", notice)


def test_an_ogg_file_cut_between_two_pages_is_told(tone, write):
    """Each page is whole, but none says that it is the last."""
    path = write("walk.ogg", tone(10.0, rate=48_000), rate=48_000)
    whole = path.read_bytes()
    path.write_bytes(whole[: whole.rindex(b"OggS")])
    [notice] = sound_of(path).notices
    assert notice.startswith("The file breaks off at 0:0")


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".m4a", ".ogg", ".mov"])
def test_the_stated_length_is_read_without_decoding(suffix, tone, write):
    """A file of three seconds says so."""
    assert stated_length_s(write(f"walk{suffix}", tone(3.0, rate=48_000), rate=48_000)) == pytest.approx(3.0, abs=0.1)


def test_what_is_no_recording_states_no_length(tmp_path, write_silent_film):
    """Neither a missing file, nor a text, nor a film without sound."""
    (tmp_path / "walk.wav").write_bytes(b"left front is fine " * 50)
    for path in (tmp_path / "gone.wav", tmp_path / "walk.wav", write_silent_film("film.mp4")):
        assert stated_length_s(path) is None


def test_progress_is_told(tone, write):
    """Progress counts up to the whole length."""
    told: list[tuple[float, float]] = []
    path = write("walk.wav", tone(5.0))
    decode(path, min_duration_s=0, max_duration_s=60, progress=lambda *each: told.append(each))
    assert told[-1] == (5.0, 5.0)
    assert [done for done, _ in told] == sorted(done for done, _ in told)


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("empty.wav", b"", "empty.wav is empty; record it again."),
        ("walk.wav", b"left front is fine " * 50, "walk.wav is not a recording that can be read"),
        ("walk.m4a", b"\0\0\0\x20ftypM4A \0\0\0\0M4A mp42isom\0\0\0\0", "walk.m4a is not a recording"),
        ("walk.ogg", b"ffconcat version 1.0\nfile other.wav\n", "walk.ogg is not a recording"),
        ("walk.mp3", b"#EXTM3U\n#EXTINF:9,\nhttp://127.0.0.1:9/a.ts\n#EXT-X-ENDLIST\n", "walk.mp3 is not"),
    ],
)
def test_what_is_no_recording_is_refused(name, content, sentence, tmp_path):
    """Empty files, text, unfinished files and playlists are refused, whatever they are called."""
    (tmp_path / name).write_bytes(content)
    with pytest.raises(AudioError, match=re.escape(sentence)):
        sound_of(tmp_path / name)


def test_a_list_of_files_cannot_reach_other_files(tone, write, tmp_path):
    """A concat list that names a real recording beside it is refused all the same."""
    write("other.wav", tone(1.0))
    (tmp_path / "walk.wav").write_text("ffconcat version 1.0\nfile other.wav\n")
    with pytest.raises(AudioError, match="is not a recording"):
        sound_of(tmp_path / "walk.wav")


def test_a_text_file_is_refused(tmp_path):
    """A note is no recording."""
    (tmp_path / "notes.txt").write_text("left front is fine\n" * 20)
    with pytest.raises(AudioError, match=r"notes\.txt (has no sound track|is not a recording)"):
        sound_of(tmp_path / "notes.txt")


def test_a_film_without_sound_is_refused(write_silent_film):
    """A video without a sound track is named as such."""
    with pytest.raises(AudioError, match=r"film\.mp4 has no sound track; choose a file with sound\."):
        sound_of(write_silent_film("film.mp4"))


def test_a_header_alone_is_refused(tone, write):
    """A file with a header and no sound behind it says that nothing could be decoded."""
    path = write("walk.wav", tone(1.0))
    path.write_bytes(path.read_bytes()[:78])
    with pytest.raises(AudioError, match=r"No sound could be decoded from walk\.wav"):
        sound_of(path)


def test_a_missing_file_is_named(tmp_path):
    """A wrong name is told with its path."""
    with pytest.raises(AudioError, match=r"There is no file .*gone\.wav; check the name\."):
        sound_of(tmp_path / "gone.wav")


def test_a_folder_is_refused(tmp_path):
    """A folder is no recording."""
    with pytest.raises(AudioError, match=r"is a folder; name a recording in it\."):
        sound_of(tmp_path)


def test_too_short_is_refused(tone, write):
    """Less than the least length cannot hold a word."""
    with pytest.raises(AudioError, match=r"walk\.wav lasts 0\.20 s, less than the 0\.3 s"):
        sound_of(write("walk.wav", tone(0.2)))


def test_too_long_is_refused_before_decoding(tone, write):
    """The length in the metadata is enough to refuse a file."""
    with pytest.raises(AudioError, match=r"lasts 0:05, longer than the limit of 0:03; split it"):
        sound_of(write("walk.wav", tone(5.0)), max_duration_s=3)


def test_too_long_is_refused_while_decoding(tone, write):
    """A file that does not say how long it is is refused once it passes the limit."""
    path = write("walk.wav", tone(5.0))
    raw = bytearray(path.read_bytes())
    for mark in (b"RIFF", b"data"):
        at = raw.index(mark) + 4
        raw[at : at + 4] = b"\xff\xff\xff\xff"
    path.write_bytes(raw)
    with pytest.raises(AudioError, match=r"walk\.wav lasts .*longer than the limit of 0:03"):
        sound_of(path, max_duration_s=3)


def test_a_recording_of_just_the_limit_is_taken(tone, write):
    """Opus pads its last block, so it states a little more than was recorded."""
    assert sound_of(write("walk.ogg", tone(3.0)), max_duration_s=3).duration_s == pytest.approx(3.0, abs=0.1)
