"""What terms lead one to expect, on prices made of known effects."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics.expected import USUAL_EFFECT, differences

NONE = (np.zeros(0, np.int64), np.zeros(0, np.int64))


def test_known_effects_are_taken_off_and_slips_stand_out() -> None:
    rng = np.random.default_rng(4)
    n = 3000
    kind, stuff = rng.integers(0, 12, n), rng.integers(0, 6, n)
    fault_of = np.flatnonzero(rng.random(n) < 0.2)
    noise = rng.normal(0, 0.3, n)
    truth = rng.normal(0, 1, 12)[kind] + rng.normal(0, 0.6, 6)[stuff]
    truth[fault_of] -= 0.7
    slipped = rng.choice(n, 40, replace=False)
    noise[slipped] += np.log(10)
    left = differences(
        5 + truth + noise, [kind, stuff], (fault_of, np.zeros(fault_of.size, np.int64))
    )
    usual = np.setdiff1d(np.arange(n), slipped)
    assert np.std(left[usual]) == pytest.approx(0.3, rel=0.05)
    assert np.corrcoef(left, noise)[0, 1] > 0.98
    assert left[slipped].min() > left[usual].max() - 0.3
    assert np.median(left[slipped]) == pytest.approx(np.log(10), abs=0.15)


@pytest.mark.parametrize("spread", [0.2, 1.0, 4.0])
def test_a_label_of_few_sales_is_believed_as_prices_scatter(spread: float) -> None:
    """Four sales 1 above the rest: n / (n + noise / prior variance) of it is theirs (ridge)."""
    n, k = 4000, 4
    noise = np.linspace(-spread, spread, n)  # about zero, so that the usual price is zero
    label = np.zeros(n, np.int64)
    label[(n - k) // 2 : (n + k) // 2] = 1
    left = differences(noise + (label == 1), [label], NONE)
    scale = spread / 2 / 0.6745
    share = k / (k + (scale / USUAL_EFFECT) ** 2)
    assert 1 - np.mean(left[label == 1]) == pytest.approx(share, abs=0.07)


def test_too_rare_labels_and_sales_without_spread_have_answers() -> None:
    assert differences(np.full(50, 3.0), [np.zeros(50, np.int64)], NONE) == pytest.approx(0.0)
    left = differences(np.arange(6.0), [np.arange(6)], NONE)
    assert left == pytest.approx(np.arange(6.0) - 2.5)
