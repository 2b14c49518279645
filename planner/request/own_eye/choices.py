"""What was chosen against the plan, and whether that was right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from planner.config.preferences import Preferences
from planner.config.settings import Settings
from planner.journal.eye_chance import seen_chance
from planner.matcher.trains import make_trains
from planner.model.kit import Train, train_words
from planner.model.own_eye import EyeChoice, OwnEye
from planner.request.own_eye.looks import EyeLooks, LookScene, lens_of_looks
from planner.request.own_eye.records import EyeRecord
from planner.request.own_eye.report import depths_mag


def eye_choices(
    looks: EyeLooks, eye: OwnEye, settings: Settings, preferences: Preferences
) -> Iterator[EyeChoice]:
    """Return what was used for what was planned, the most frequent first.

    Only looks count that tell something of the eye, with a planned train that the kit still has.
    """
    scene = looks.scene
    if scene is None:
        return
    trains = _trains(scene, settings)
    pairs: dict[tuple[str, str], list[int]] = {}
    planned: dict[int, EyeRecord] = {}
    for row, record in enumerate(scene.records):
        values = record.values
        used = " + ".join(
            filter(None, (values[f"train_{part}"] for part in ("eyepiece", "amplifier", "filter")))
        )
        train = trains.get((values["train_telescope"], values["planned_train"]))
        if train is not None and values["planned_train"] != used:
            pairs.setdefault((values["planned_train"], used), []).append(row)
            planned[row] = _through(record, train)
    depth, seen = depths_mag(looks, eye), looks.judged.seen
    for (plan, used), rows in sorted(pairs.items(), key=lambda item: (-len(item[1]), item[0])):
        at = np.array(rows, dtype=np.intp)
        records = [planned[row] for row in rows]
        lens = lens_of_looks(records, settings.observer.dark_pupil_mm)
        would = replace(scene.of_rows(at), records=records, lens=lens).margin_mag(preferences)
        yield EyeChoice(
            planned=plan,
            used=used,
            looks=len(rows),
            seen=float(seen[at].sum()),
            expected_planned=float(seen_chance(would + depth[at], eye.width_mag).sum()),
            expected_used=float(
                seen_chance(looks.judged.margin_mag[at] + depth[at], eye.width_mag).sum()
            ),
        )


def _trains(scene: LookScene, settings: Settings) -> dict[tuple[str, str], Train]:
    """Return the trains of the kit by telescope and words, those of the looks' telescopes."""
    names = {
        record.values["train_telescope"]
        for record in scene.records
        if record.values["planned_train"]
    }
    return {
        (telescope.name, train_words(train)): train
        for telescope in settings.kit.telescopes
        if telescope.name in names
        for train in make_trains(telescope, settings.kit)
        if train.usable
    }


def _through(record: EyeRecord, train: Train) -> EyeRecord:
    """Return a look as if it had been made through another train."""
    values = dict(record.values) | {
        "train_magnification": train.magnification,
        "train_exit_pupil_mm": train.exit_pupil_mm,
        "train_amplifier": train.amplifier.name if train.amplifier else "",
        "train_filter_kind": train.filter.kind.value if train.filter else "",
    }
    return replace(record, values=values)
