"""A kit report as JSON."""

from __future__ import annotations

import math

from planner.advice.audit import AuditedTrain, KitReport
from planner.advice.gains import Addition
from planner.output.contracts.plan import Json

SCHEMA = "fieldstop.kit/1"


def kit_json(report: KitReport) -> Json:
    """Return the report as the object of the ``fieldstop.kit/1`` contract."""
    return {
        "schema": SCHEMA,
        "trains": [_train_json(entry) for entry in report.entries],
        "faults": list(report.faults),
    }


def addition_json(best: Addition) -> Json:
    """Return what the usual eyepiece that adds most to a kit would bring in a year."""
    eyepiece = best.train.eyepiece
    return {
        "name": eyepiece.name,
        "focal_length_mm": eyepiece.focal_lengths_mm[0],
        "apparent_field_deg": eyepiece.apparent_fields_deg[0],
        "barrel": eyepiece.barrel.value,
        "gain_percent": round(100.0 * best.share, 2) if math.isfinite(best.share) else None,
        "most_for": best.target,
    }


def _train_json(entry: AuditedTrain) -> Json:
    train = entry.train
    return {
        "telescope": train.telescope.name,
        "eyepiece": train.eyepiece.name,
        "eyepiece_focal_length_mm": round(train.focal_length_mm, 2),
        "amplifier": train.amplifier.name if train.amplifier else None,
        "magnification": round(train.magnification, 2),
        "true_field_deg": round(train.true_field_arcmin / 60.0, 4),
        "exit_pupil_mm": round(train.exit_pupil_mm, 3),
        "usable": train.usable,
        "reasons": list(entry.remarks),
    }
