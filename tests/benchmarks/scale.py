"""How many machines 10, 1,000 and 100,000 shops need, what a recording costs, and what is too slow first.

Run from the repository root: `python tests/benchmarks/scale.py [SHOPS…]`. It takes its speeds from day_speed.json and
claims.json in results/ and simulates days with them (scale_model.py); prices are assumed. It writes results/scale.json
and draws docs/scale.svg.
"""

import json
import sys
from dataclasses import replace
from typing import Any

from scale_model import Cell, Machine, Outcome, by_quarter, fewest, simulate
from tables import CHECKOUT, RESULTS, table, write_result

SHOPS = (10, 1_000, 100_000)
MOST_A_STORE = 10_000
"""Shops whose records lie in one store; beyond it there are several stores, each a cell of its own."""
SHARE, WITHIN_S = 0.95, 900.0
"""The goal: so many of a day's recordings are kept so soon after they came."""
PROCESSORS = 16
PROCESSOR_DOLLARS, CARD_DOLLARS = 0.04, 3.50
"""An hour of a processor, and of a machine with a CUDA card and 16 processors: assumed, before any discount."""
CARD_TIMES_REAL, CARD_PROCESSES = 361.0, 14
"""Measured on one H200 (docs/accuracy.md)."""
TOLD = ("recordings_a_shop", "sound_s", "sound_spread", "around_s", "again", "hours_between_losses", "lease_s")
PICTURE = CHECKOUT / "docs" / "scale.svg"


def machines() -> tuple[Machine, Machine, Machine]:
    """A shop's own computer, a big machine, and one with a card.

    Hearing without a card is by processor time, which other work on the machine changes least.
    """
    day = json.loads((RESULTS / "day_speed.json").read_text("utf-8"))
    times_real = day["sound_s"] / min(run["cpu_s"] for run in day["day"])
    plain = Machine(
        name=f"{PROCESSORS} processors",
        processes=PROCESSORS,
        times_real=times_real,
        dollars_an_hour=PROCESSORS * PROCESSOR_DOLLARS,
    )
    card = Machine(
        name="CUDA card",
        processes=CARD_PROCESSES,
        times_real=CARD_TIMES_REAL / CARD_PROCESSES,
        dollars_an_hour=CARD_DOLLARS,
    )
    small = replace(plain, name="2 processors", processes=2, dollars_an_hour=2 * PROCESSOR_DOLLARS)
    return small, plain, card


def finish_s() -> float:
    """How long the one writer is held for a recording: at the most all of a worker's time that only claims and ends."""
    claims = json.loads((RESULTS / "claims.json").read_text("utf-8"))
    return 1.0 / claims["cycles a second by how many ask"]["1"]


def row(shops: int, machine: Machine) -> dict[str, Any]:
    """What so many shops need of one kind of machine."""
    stores = -(-shops // MOST_A_STORE)
    cell = Cell(shops=shops // stores, machine=machine, machines=1, finish_s=finish_s())
    fitted, made = fewest(cell, SHARE, WITHIN_S)
    recordings = len(made.waits)
    hours = made.worked_s / 3600 / machine.processes
    always = fitted.machines * 24 * machine.dollars_an_hour
    return {
        "shops": shops,
        "stores": stores,
        "machine": machine.name,
        "machines": stores * fitted.machines,
        "processes": stores * fitted.machines * machine.processes,
        "kept_within_s": {str(share): round(made.within(share)) for share in (0.5, 0.95, 0.999)},
        "longest_line": made.longest_line,
        "writer_busy": round(made.writer_busy, 3),
        "heard_again": made.heard - recordings,
        "machines_lost": stores * made.lost_machines,
        "busy": round(hours / (fitted.machines * 24), 3),
        "cents_always_on": round(100 * always / recordings, 3),
        "cents_only_while_hearing": round(100 * hours * machine.dollars_an_hour / recordings, 3),
    }


def one_store_for_all(machine: Machine) -> list[dict[str, float]]:
    """How busy one store's writer is in the busiest quarter of an hour, by shops, whatever the machines."""
    found = []
    for shops in (1_000, 5_000, 10_000, 20_000, 40_000):
        made = simulate(Cell(shops=shops, machine=machine, machines=shops // 20, finish_s=finish_s()))
        found.append({"shops": shops, "writer_busy": round(made.writer_busy, 3), "kept_95_s": round(made.within(0.95))})
    return found


def curves(machine: Machine, shops: int) -> list[tuple[str, Outcome]]:
    """Days of so many shops with fewer machines than needed, as many, and more."""
    fitted, made = fewest(Cell(shops=shops, machine=machine, machines=1, finish_s=finish_s()), SHARE, WITHIN_S)
    found = []
    for factor in (0.6, 1.0, 1.5):
        count = max(1, round(factor * fitted.machines))
        found.append((f"{count} machines", made if factor == 1.0 else simulate(replace(fitted, machines=count))))
    return found


def draw(days: list[tuple[str, Outcome]], title: str) -> str:
    """Waiting by the hour at which recordings came in, in black and white: lines differ by their dashes."""
    left, top, width, height = 70, 40, 600, 260
    most = max(wait for _, made in days for _, _, wait in by_quarter(made)) or 1.0
    dashes = ("2 3", "", "9 4")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 760 360" font-family="sans-serif" font-size="13">'
        f"<title>{title}</title>",
        '<rect width="760" height="360" fill="white"/>',
        f'<text x="{left}" y="22" font-size="15">{title}</text>',
        f'<path d="M{left} {top}V{top + height}H{left + width}" fill="none" stroke="black"/>',
    ]
    for hour in range(6, 21, 2):
        x = left + (hour - 6) / 14 * width
        parts.append(f'<text x="{x}" y="{top + height + 18}" text-anchor="middle">{hour}:00</text>')
    for step in range(5):
        minutes, y = most / 60 * step / 4, top + height * (1 - step / 4)
        parts.append(f'<text x="{left - 8}" y="{y + 4}" text-anchor="end">{minutes:.0f} min</text>')
        parts.append(f'<path d="M{left} {y}h{width}" stroke="#bbb" stroke-width="0.5"/>')
    for (name, made), dash, at in zip(days, dashes, range(3), strict=True):
        points = [(hour, wait) for hour, count, wait in by_quarter(made) if count and 6 <= hour <= 20]
        line = " ".join(f"{left + (h - 6) / 14 * width:.0f},{top + height * (1 - w / most):.1f}" for h, w in points)
        drawn = f'fill="none" stroke="black" stroke-dasharray="{dash}" stroke-width="1.6"'
        y = top + 20 + 20 * at
        parts.append(f'<polyline points="{line}" {drawn}/><path d="M100 {y - 4}h40" {drawn}/>')
        parts.append(f'<text x="148" y="{y}">{name}</text>')
    below = f'<text x="{left + width / 2}" y="345" text-anchor="middle">hour at which a recording came in</text>'
    return "\n".join([*parts, below, "</svg>"]) + "\n"


def main() -> None:
    wanted = [int(each) for each in sys.argv[1:]] or list(SHOPS)
    small, plain, card = machines()
    rows = []
    for shops in wanted:
        for machine in (small, plain, card) if shops <= 100 else (plain, card):
            rows.append(row(shops, machine))
            print(rows[-1], flush=True)
    alone = one_store_for_all(card)
    head = ("shops", "stores", "machine", "machines", "processes", "longest_line", "writer_busy", "busy")
    print(table(head, [[each[key] for key in head] for each in rows]))
    print(table(("shops", "writer_busy", "kept_95_s"), [list(each.values()) for each in alone]))
    inputs = {
        "times_real_of_a_processor": round(plain.times_real, 2),
        "times_real_of_a_card": CARD_TIMES_REAL,
        "finish_s": round(finish_s(), 4),
        "assumed": {"processor_dollars_an_hour": PROCESSOR_DOLLARS, "card_dollars_an_hour": CARD_DOLLARS},
        "cell": {key: value for key, value in vars(Cell(shops=1, machine=plain, machines=1)).items() if key in TOLD},
    }
    write_result("scale", {"inputs": inputs, "rows": rows, "one_store": alone})
    title = "1,000 shops: in how many minutes 95 of 100 recordings are kept"
    PICTURE.write_text(draw(curves(plain, 1_000), title), "utf-8")


if __name__ == "__main__":
    main()
