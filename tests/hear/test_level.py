"""Speech over noise and clipping, measured against mixtures made to a known ratio."""

import numpy as np
import pytest

from narrate.hear.level import CLIPPED, FAINT, NOISY, measure, poor_stretches

RATE = 16_000


def mixture(snr_db: float) -> np.ndarray:
    """Return ten seconds: noise throughout, and a second sound in every other second at the given ratio."""
    rng = np.random.default_rng(5)
    noise = 0.01 * rng.standard_normal(10 * RATE)
    speech = 0.01 * 10 ** (snr_db / 20) * rng.standard_normal(10 * RATE)
    speech[(np.arange(10 * RATE) // RATE) % 2 == 1] = 0
    return (noise + speech).astype(np.float32)


STRETCHES = tuple((float(second), second + 1.0) for second in range(0, 10, 2))


@pytest.mark.parametrize("snr_db", [0, 5, 10, 20, 40])
def test_known_ratio_is_measured(snr_db):
    """The estimate is within 2 dB of the ratio the mixture was made to."""
    assert measure(mixture(snr_db), STRETCHES).speech_to_noise_db == pytest.approx(snr_db, abs=2)


def test_no_speech_has_no_ratio():
    """Without speech there is nothing to compare with the noise."""
    assert measure(mixture(10), ()).speech_to_noise_db is None


def test_digital_silence_between_words_has_a_finite_ratio():
    """Silence without any noise gives a high number, not infinity."""
    sound = mixture(40) * np.repeat(np.tile([1.0, 0.0], 5), RATE).astype(np.float32)
    assert 40 < measure(sound, STRETCHES).speech_to_noise_db < 100


def test_clipped_share_is_counted():
    """Samples at full scale are counted as a share of all."""
    sound = np.zeros(RATE, dtype=np.float32)
    sound[:160] = 1.0
    sound[160:320] = -1.0
    assert measure(sound, ()).clipped == pytest.approx(0.02)


def test_nothing_at_all_is_no_error():
    """No samples give no figures."""
    assert measure(np.zeros(0, dtype=np.float32), ()).speech_to_noise_db is None


def test_where_noise_is_as_loud_as_speech_is_poor():
    """A quiet recording that turns noisy in the middle is poor there and nowhere else."""
    clean, noisy = mixture(30), mixture(3)
    sound = np.concatenate((clean, clean, noisy, clean, clean))
    stretches = tuple((float(second), second + 1.0) for second in range(0, 50, 2))
    found = poor_stretches(sound, stretches)
    assert {each.why for each in found} == {NOISY}
    assert all(each.end_s > 20 and each.start_s < 30 for each in found)
    assert sum(min(each.end_s, 30) - max(each.start_s, 20) for each in found) > 5


def test_clean_speech_is_not_poor():
    """Nothing is said of a good recording."""
    assert poor_stretches(mixture(30), STRETCHES) == ()


def test_clipped_and_faint_speech_is_poor():
    """Too loud and too faint are told apart."""
    loud = np.clip(mixture(40) * 2, -1, 1)
    assert {each.why for each in poor_stretches(loud, STRETCHES)} == {CLIPPED}
    assert {each.why for each in poor_stretches(mixture(30) * 0.005, STRETCHES)} == {FAINT}
