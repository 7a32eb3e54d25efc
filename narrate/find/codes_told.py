"""Trouble codes told with a part of which nothing was found: they belong to the nearest finding."""

from dataclasses import replace

from narrate.find.draft import Amount
from narrate.find.fields import Said
from narrate.find.joining import CODE_REACH, CODED
from narrate.find.scene import Scene


def with_codes(scene: Scene, found: list[Said]) -> list[Said]:
    """The findings, each with the codes told nearest to it that no other finding has.

    "Gas cap's split. That's your P0455. Cap's eighteen bucks": the last cap is no finding of its own.
    """
    taken = {item.id for said in found for item, _ in said.of("code")}
    done = list(found)
    for code in scene.draft.amounts:
        if code.kind != "code" or code.id in taken or code.id in scene.void:
            continue
        near = min(((_distance(scene, said, code), n) for n, said in enumerate(done)), default=None)
        if near and near[0][1] <= CODE_REACH:
            said = done[near[1]]
            group = replace(said.group, dependents=(*said.group.dependents, code.id))
            items = tuple(sorted((*said.items, ("code", code, CODED)), key=lambda item: item[1].first))
            done[near[1]] = replace(said, group=group, items=items)
    return done


def _distance(scene: Scene, said: Said, code: Amount) -> tuple[float, int]:
    """How much ends, and how many tokens lie, between a code and the nearest head of a finding."""
    return min(
        (abs(scene.mass[head.first] - scene.mass[code.first]), abs(head.first - code.first)) for head in said.heads
    )
