"""What a phone still has of a recording that somebody ended becomes one of its own: what moves, and how."""

from typing import Any

import pytest
from browser_shop import Shop
from playwright.sync_api import Page

WEBM, CLUSTER = list(b"\x1a\x45\xdf\xa3"), list(b"\x1f\x43\xb6\x75")
FTYP, MOOF = list(b"ftyp"), list(b"moof")
HEADER = [*WEBM, 7]
CARRYING = f"""
const {{ openKept }} = await import("/static/capture_kept.js");
const {{ carryOver }} = await import("/static/capture_left.js");
const kept = await openKept();
for (const each of await kept.captures()) await kept.forget(each.key);
const key = "k1";
const started_at = "2026-11-27T09:00:00.000Z";
const open = {{ known: true, safe_s: 2, ended: null, state: "open", why: "" }};
await kept.put("captures", {{ key, visit: 3, device: "d", started_at, ...open }});
const begin = (header) => kept.put("runs", {{
  key, run: 0, mime: "audio/webm", started_at, pieces: 0, seconds: 0, known: true, header,
}});
const header = new Uint8Array({HEADER});
const piece = (number) => kept.addPiece({{
  key, run: 0, number, from_s: number, to_s: number + 1, sha256: "s",
  bytes: new Uint8Array([5, ...{CLUSTER}, number]).buffer,
}});
const left = async (key) => (await kept.pieces(key)).map(
  (each) => [each.run, each.number, each.from_s, ...new Uint8Array(each.bytes)],
);
"""


@pytest.fixture
def page(visits: Any, shop: Shop) -> Page:
    page: Page = visits.usual()
    if not page.url.endswith("/uploads"):
        page.goto(f"{shop.url}/uploads")
    return page


def run(page: Page, script: str) -> Any:
    return page.evaluate(f"async () => {{ {script} }}")


@pytest.mark.parametrize(
    ("first", "later", "header", "whole"),
    [
        # WebM (RFC 9559): the bytes of EBML's header, then a cluster.
        ([*WEBM, 7, *CLUSTER, 1], [9, 9, *CLUSTER, 2], [*WEBM, 7], [*WEBM, 7, *CLUSTER, 2]),
        ([*WEBM, 7], [*CLUSTER, 2], [*WEBM, 7], [*WEBM, 7, *CLUSTER, 2]),
        # MP4 (ISO/IEC 14496-12): boxes, each with its size before its name.
        ([0, 0, 0, 8, *FTYP, 0, 0, 0, 9, *MOOF, 1], [0, 0, 0, 9, *MOOF, 2], [0, 0, 0, 8, *FTYP],
         [0, 0, 0, 8, *FTYP, 0, 0, 0, 9, *MOOF, 2]),
    ],
)  # fmt: skip
def test_a_later_piece_is_played_with_the_header_of_the_first(
    page: Page, first: list[int], later: list[int], header: list[int], whole: list[int]
) -> None:
    script = f"""
    const {{ headerOf, playable }} = await import("/static/capture_left.js");
    const header = headerOf(new Uint8Array({first}));
    return [[...header], [...playable(header, [new Uint8Array({later})])]];"""
    assert run(page, script) == [header, whole]


def test_where_no_decoder_can_begin_nothing_is_made_of_it(page: Page) -> None:
    script = f"""
    const {{ playable }} = await import("/static/capture_left.js");
    const header = new Uint8Array({HEADER});
    const split = [new Uint8Array([9, {CLUSTER[0]}]), new Uint8Array({[*CLUSTER[1:], 2]})];
    return [playable(header, [new Uint8Array([9, 9])]), [...playable(header, split)]];"""
    assert run(page, script) == [None, [*HEADER, *CLUSTER, 2]]


def test_it_becomes_runs_without_holes(page: Page) -> None:
    """Pieces 2, 3 and 6 are left of a run: 2 and 3 go together, 6 by itself, each time with the header."""
    told = run(
        page,
        CARRYING
        + """
        await begin(header);
        for (const number of [2, 3, 6]) await piece(number);
        const { to, moved } = await carryOver(kept, key);
        const runs = (await kept.runs(to)).map((each) => [each.run, each.pieces, each.seconds, each.started_at]);
        const { visit, state, known } = await kept.capture(to);
        const { carried } = await kept.capture(key);
        const made = [visit, state, known, carried === to];
        return { moved, stays: await left(key), left: await left(to), runs, made };
        """,
    )
    assert told == {
        "moved": True,
        "stays": [],
        "left": [
            [0, 0, 0, *HEADER, *CLUSTER, 2],
            [0, 1, 1, 5, *CLUSTER, 3],
            [1, 0, 0, *HEADER, *CLUSTER, 6],
        ],
        "runs": [[0, 2, 2, "2026-11-27T09:00:02.000Z"], [1, 1, 1, "2026-11-27T09:00:06.000Z"]],
        "made": [3, "open", False, True],
    }


def test_what_is_left_later_goes_to_the_same_recording(page: Page) -> None:
    told = run(
        page,
        CARRYING
        + """
        await begin(header);
        await piece(1);
        const first = await carryOver(kept, key);
        await piece(2);
        const second = await carryOver(kept, key);
        const third = await carryOver(kept, key);
        return [first.to === second.to, second.moved, third.to === first.to, third.moved, await left(first.to)];
        """,
    )
    assert told == [True, True, True, False, [[0, 0, 0, *HEADER, *CLUSTER, 1], [1, 0, 0, *HEADER, *CLUSTER, 2]]]


def test_marks_go_with_it_and_are_counted_from_there(page: Page) -> None:
    """One said before it stays; what a mark was about before it is left out."""
    told = run(
        page,
        CARRYING
        + """
        await begin(header);
        for (const number of [120, 121, 122]) await piece(number);
        const fresh = { key, what: "mark", run: 0, sent: true, changed: 0 };
        const mark = (id, fields) => kept.put("marks", { ...fresh, id, ...fields });
        await mark("early", { at_s: 100 });
        await mark("late", { at_s: 121, end_s: 122, about_start_s: 120, about_end_s: 121 });
        await mark("reaches back", { at_s: 122, end_s: 123, about_start_s: 110, about_end_s: 112 });
        const { to } = await carryOver(kept, key);
        const told = ({ id, at_s, end_s, about_start_s, about_end_s, sent }) =>
          [id, at_s, end_s ?? null, about_start_s ?? null, about_end_s ?? null, sent];
        return [(await kept.marks(key)).map(told), (await kept.marks(to)).map(told)];
        """,
    )
    assert told == [
        [["early", 100, None, None, None, True]],
        [["late", 1, 2, 0, 1, False], ["reaches back", 2, 3, None, None, False]],
    ]


def test_what_cannot_be_played_stays_and_nothing_is_said_to_have_moved(page: Page) -> None:
    told = run(
        page,
        CARRYING
        + """
        await begin(null);
        await piece(4);
        const { to, moved } = await carryOver(kept, key);
        return [to, moved, (await left(key)).length, (await kept.captures()).length];
        """,
    )
    assert told == [None, False, 1, 1]


def test_what_is_over_is_forgotten_after_a_day_but_not_with_pieces_left(page: Page) -> None:
    told = run(
        page,
        CARRYING
        + """
        const { Shelf } = await import("/static/capture_shelf.js");
        await begin(header);
        await piece(1);
        await kept.change("captures", key, { state: "done", ended: 1 });
        await kept.put("captures", { key: "k2", started_at, ...open, state: "done", ended: 1 });
        await new Shelf({ kept, actions: {} }).tidy();
        return (await kept.captures()).map((each) => each.key);
        """,
    )
    assert told == ["k1"]
