"""The simulation of many shops keeps every recording once, and agrees with what can be reckoned by hand."""

import random
from dataclasses import replace

import pytest
from scale_model import PEAKS, Cell, Machine, arrivals, by_quarter, fewest, simulate

MACHINE = Machine(name="m", processes=4, times_real=6.0, dollars_an_hour=1.0)
CALM = Cell(shops=20, machine=MACHINE, machines=50, again=0.0, hours_between_losses=1e9)


def test_shares_of_the_day_are_all_of_it() -> None:
    assert sum(share for _, _, share in PEAKS) == pytest.approx(1)


def test_with_machines_enough_a_recording_takes_its_own_time() -> None:
    made = simulate(replace(CALM, sound_spread=0.0))
    assert len(made.waits) == made.heard == 800
    alone = CALM.around_s + CALM.sound_s / 6.0 + CALM.finish_s
    assert min(wait for _, wait in made.waits) == pytest.approx(alone)
    assert made.within(0.9) == pytest.approx(alone, abs=0.1)
    assert made.worked_s == pytest.approx(800 * (alone - CALM.finish_s))


def test_mean_sound_is_what_was_asked() -> None:
    sounds = [sound_s for _, sound_s in arrivals(replace(CALM, shops=500), random.Random(1))]
    assert sum(sounds) / len(sounds) == pytest.approx(CALM.sound_s, rel=0.03)


def test_lost_machines_and_failures_cost_time_and_no_recording() -> None:
    rough = replace(CALM, machines=3, hours_between_losses=2.0, again=0.1)
    made = simulate(rough)
    assert len(made.waits) == 800
    assert made.lost_machines > 5
    assert made.heard > 850
    assert made.within(0.95) > simulate(replace(CALM, machines=3)).within(0.95)


def test_one_writer_is_a_limit_that_no_machine_lifts() -> None:
    slow = replace(CALM, finish_s=30.0)
    assert simulate(slow).writer_busy > 1
    with pytest.raises(ValueError, match="too many for one store"):
        fewest(slow, 0.95, 60.0)


def test_the_fewest_machines_are_enough_and_one_less_is_not() -> None:
    cell, made = fewest(replace(CALM, shops=100), 0.95, 300.0)
    assert made.within(0.95) <= 300.0
    assert simulate(replace(cell, machines=cell.machines - 1)).within(0.95) > 300.0


def test_quarters_hold_every_recording() -> None:
    made = simulate(CALM)
    assert sum(count for _, count, _ in by_quarter(made)) == 800
