"""Copies targets and trains as they are now into the form in which the journal keeps them."""

from __future__ import annotations

from planner.journal.records import LoggedTarget, LoggedTrain
from planner.model.kit import Train
from targets.model import Target


def logged_target(target: Target) -> LoggedTarget:
    """Copy what the catalogue says of a target."""
    return LoggedTarget(
        id=target.id,
        name=target.name,
        kind=target.kind.value,
        constellation=target.constellation,
        ra_deg=target.ra_deg,
        dec_deg=target.dec_deg,
        major_arcmin=target.major_arcmin,
        minor_arcmin=target.minor_arcmin,
        magnitude=target.magnitude,
    )


def logged_train(train: Train) -> LoggedTrain:
    """Copy a train, with its numbers."""
    amplifier, filter_ = train.amplifier, train.filter
    return LoggedTrain(
        telescope=train.telescope.name,
        aperture_mm=train.telescope.aperture_mm,
        telescope_focal_length_mm=train.telescope.focal_length_mm,
        eyepiece=train.eyepiece.name,
        eyepiece_focal_length_mm=train.focal_length_mm,
        apparent_field_deg=train.apparent_field_deg,
        amplifier=amplifier.name if amplifier else "",
        amplifier_factor=amplifier.factor if amplifier else None,
        filter=filter_.name if filter_ else "",
        filter_kind=filter_.kind.value if filter_ else "",
        magnification=train.magnification,
        exit_pupil_mm=train.exit_pupil_mm,
        true_field_deg=train.true_field_arcmin / 60.0,
    )


def logged_words(train: LoggedTrain) -> str:
    """Name a train as a plan does: ``12 mm 60 + 2x Barlow + O III``; empty without any glass."""
    return " + ".join(part for part in (train.eyepiece, train.amplifier, train.filter) if part)
