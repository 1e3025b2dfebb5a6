r"""What an instrument shows of a true value: P(reading | value).

The error is normal with standard deviation :math:`\sqrt{(s f)^2 + a^2}`, s the share of
the value f and a the plain part; from a share of 0.2 on it is log-normal, since a normal
one would then show numbers below zero. With a small chance the reading is a blunder: the
wrong terminal, the wrong hose, a decimal point. Then it can be anything, so that no
reading makes a true cause impossible.
"""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.evidence import IS, NONE, OVER, Measured
from tubside.pack.fault_model import Floats, Reading, Usual

BLUNDER = 0.02
"""P(a reading has nothing to do with what was to be measured); common practice, no source."""
LARGE_SHARE = 0.2
"""Errors of this share of the value and more are log-normal."""
LEAST_SHARE = 0.01
"""No instrument tells less than this share of what a sound machine has."""
BROAD_LOG, BROAD_SHARE = 1.5, 2.0
"""Blunders: half log-normal with this spread, half normal with this many times the usual value."""
WIDEST_LOG = 3.0
"""Log-normal errors are no wider than this."""
BLUNDER_NONE = 0.1
"""Share of blunders in which no number comes at all (common practice, no source)."""
ROOT_TAU = float(np.sqrt(2.0 * np.pi))


def chance(reading: Reading, usual: Usual, value: Floats, resolved: Floats, m: Measured) -> Floats:
    """P(what was read | true value), no blunder: (U, D); a density where it is a number.

    Parameters
    ----------
    value
        (U, D) [SI]; infinite where it never comes, nan where there is nothing to measure.
    resolved
        (U, D) how finely the draws tell values apart [SI]; no instrument is finer.
    """
    if m.says == NONE:
        return np.where(np.isnan(value), 1.0, 0.0)
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        variance = _variance(reading, usual, value, m.observer)
        variance += resolved * resolved
        if m.says != IS:
            return _cut_off(value, np.sqrt(variance), m)
        density = _density(reading, value, variance, m)
    density *= usual.unit
    return np.nan_to_num(density, copy=False, nan=0.0) if np.isnan(density).any() else density


def error(reading: Reading, usual: Usual, value: Floats, observer: int) -> Floats:
    """Standard deviation of the instrument's error [SI], in the shape of ``value``."""
    return np.asarray(np.sqrt(_variance(reading, usual, value, observer)))


def _variance(reading: Reading, usual: Usual, value: Floats, observer: int) -> Floats:
    plain = max(reading.plain[observer], LEAST_SHARE * usual.size)
    variance = value * value
    variance *= reading.share[observer] ** 2
    variance += plain * plain
    return np.asarray(variance)


def _density(reading: Reading, value: Floats, variance: Floats, m: Measured) -> Floats:
    """Density of the number shown [1/SI]; 0 or nan where there is none."""
    if reading.share[m.observer] >= LARGE_SHARE and m.value > 0.0:
        return _log_density(value, variance, m.value)
    density = m.value - value
    density *= density
    density /= -2.0 * variance
    np.exp(density, out=density)
    variance *= 2.0 * np.pi
    density /= np.sqrt(variance, out=variance)
    return density


def _log_density(value: Floats, variance: Floats, shown: float) -> Floats:
    positive = np.maximum(value, 1e-300)
    log_sigma = np.minimum(np.sqrt(variance) / positive, WIDEST_LOG)
    density = _bell(np.log(shown / positive) / log_sigma) / (log_sigma * shown)
    sigma = np.sqrt(variance)
    return np.where(value > 0.0, density, _bell((shown - value) / sigma) / sigma)


def _cut_off(value: Floats, sigma: Floats, m: Measured) -> Floats:
    """P(the number shown is over, or under, the limit told)."""
    from scipy.special import ndtr  # noqa: PLC0415  # few are cut off

    over = np.where(np.isposinf(value), 1.0, ndtr((value - m.value) / sigma))
    told = over if m.says == OVER else 1.0 - over
    return np.where(np.isnan(value), 0.0, told)


def _bell(z: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * z * z) / ROOT_TAU)


def largest(reading: Reading, usual: Usual, m: Measured) -> float:
    r"""The most that :func:`chance` can be, whatever the true value f.

    With z = (x - f) / sigma the normal density is also :math:`z e^{-z^2/2} / |x - f|`, at
    most :math:`e^{-1/2} / |x - f|`. So it is bounded by 1 / sigma at f near x, and by
    this farther off; the log-normal one by 1 / (s x).
    """
    if m.says != IS:
        return 1.0
    share, size = reading.share[m.observer], abs(m.value)
    plain = max(reading.plain[m.observer], LEAST_SHARE * usual.size)
    far = float(np.exp(-0.5))
    if share >= LARGE_SHARE and m.value > 0.0:
        best = max(1.0 / min(share, WIDEST_LOG), far) / size
    else:
        grown = share * size / (1.0 + share)
        beside = far / grown if grown > 0.0 else np.inf
        best = max(1.0 / float(np.hypot(plain, grown)), min(1.0 / plain, beside))
    return max(usual.unit * best / ROOT_TAU, blunder(usual, m))


def blunder(usual: Usual, m: Measured) -> float:
    """P(what was read | a blunder): broad, over zero everywhere."""
    return BLUNDER_NONE if m.says == NONE else (1.0 - BLUNDER_NONE) * _anything(usual, m)


def _anything(usual: Usual, m: Measured) -> float:
    """P(this number, or one over or under it | a blunder that shows a number)."""
    wide = BROAD_SHARE * usual.size
    far = (m.value - usual.middle) / wide
    log_far = np.log(max(m.value, 1e-300) / usual.size) / BROAD_LOG
    if m.says == IS:
        log_part = float(_bell(np.array(log_far))) / (BROAD_LOG * max(m.value, 1e-300))
        log_part = log_part if m.value > 0.0 else 0.0
        return usual.unit * 0.5 * (float(_bell(np.array(far))) / wide + log_part)
    from scipy.special import ndtr  # noqa: PLC0415  # few are cut off

    over = 0.5 * (float(ndtr(-far)) + (float(ndtr(-log_far)) if m.value > 0.0 else 1.0))
    return max(over if m.says == OVER else 1.0 - over, 1e-6)
