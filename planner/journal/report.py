"""What the journal teaches: which eyepiece on what, plan against practice, what is still to see."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from functools import cache
from itertools import count
from typing import Any

import numpy as np
import pandas as pd

from planner.journal.records import JournalSession, Outcome
from planner.journal.report_records import (
    Counts,
    EyepieceUse,
    JournalReport,
    KindUse,
    ListState,
    Overruling,
    PlanUse,
    TargetUse,
)
from targets.model import Kind

# What `journal_report` needs of each entry, in this order; see `Journal.columns`.
COLUMNS = (
    "session_id", "at", "target_id", "target_name", "target_kind", "target_magnitude",
    "target_major_arcmin",
    "train_eyepiece", "train_amplifier", "train_filter", "train_exit_pupil_mm", "outcome",
    "planned_train", "planned_at", "why_skipped", "rating",
)  # fmt: skip


def journal_report(
    rows: Iterable[Sequence[Any]],
    sessions: Sequence[JournalSession],
    *,
    list_name: str = "",
    listed: Sequence[tuple[str, str]] = (),
) -> JournalReport:
    """Work out what the journal teaches.

    Parameters
    ----------
    rows : iterable of sequence
        ``COLUMNS`` of each entry.
    listed : sequence of (str, str)
        Ids and names of the targets of a list; empty for none.
    """
    looks = looks_frame(rows, sessions)
    done = looks[looks["outcome"] != Outcome.SKIPPED]
    with_eyepiece = done[done["eyepiece"] != ""]
    star = max(
        (session for session in sessions if session.faintest_star_mag is not None),
        key=lambda session: (session.faintest_star_mag, session.evening),
        default=None,
    )
    evenings = {(session.evening, session.site) for session in sessions}
    targets = _targets(looks)
    return JournalReport(
        observers=tuple(dict.fromkeys(one.observer for one in sessions if one.observer)),
        first=min((evening for evening, _ in evenings), default=None),
        last=max((evening for evening, _ in evenings), default=None),
        sites=_counted(pd.Series([site for _, site in sorted(evenings)], dtype=object)),
        nights=len({evening for evening, _ in evenings}),
        hours=_hours(looks, sessions),
        looks=len(looks),
        outcomes={one.value: int((looks["outcome"] == one.value).sum()) for one in Outcome},
        faintest_star_mag=star.faintest_star_mag if star else None,
        faintest_star_on=star.evening if star else None,
        eyepieces=_eyepieces(with_eyepiece),
        without_eyepiece=len(done) - len(with_eyepiece),
        kinds=_kinds(done),
        plan=_plan(looks),
        targets=targets,
        list=_list_state(list_name, listed, targets) if listed else None,
    )


def looks_frame(rows: Iterable[Sequence[Any]], sessions: Sequence[JournalSession]) -> pd.DataFrame:
    """Return the entries as a frame.

    Parameters
    ----------
    rows : iterable of sequence
        ``COLUMNS`` of each, in order of time.

    Returns
    -------
    DataFrame
        ``COLUMNS`` without their prefixes, texts as categories; also ``evening`` of the session,
        ``key`` (the target's id, else its name in small letters), ``used`` (the train in words, as
        a plan has it) and ``followed`` (whether that, or the same without its filter, was planned).
    """
    names = [name.removeprefix("train_") for name in COLUMNS]
    columns = dict(zip(names, zip(*rows, strict=True), strict=False))
    if not columns:
        columns = dict.fromkeys(names, ())
    evenings = {session.id: session.evening.isoformat() for session in sessions}
    parts = (columns[name] for name in ("eyepiece", "amplifier", "filter"))
    used = list(map(_train_words, *parts))
    glass = map(_train_words, columns["eyepiece"], columns["amplifier"])
    texts: dict[str, Iterable[Any]] = {
        name: columns[name]
        for name in ("target_id", "target_name", "target_kind", "eyepiece", "outcome",
                     "planned_train", "why_skipped")
    } | {
        "evening": map(evenings.get, columns["session_id"]),
        "key": map(_target_key, columns["target_id"], columns["target_name"]),
        "used": used,
    }  # fmt: skip
    frame = pd.DataFrame({name: _categories(values) for name, values in texts.items()})
    for name in ("target_magnitude", "target_major_arcmin", "exit_pupil_mm", "rating"):
        frame[name] = np.array(columns[name], dtype=float)
    for name in ("session_id", "at", "planned_at"):
        frame[name] = pd.Series(columns[name], dtype=object)
    frame["followed"] = np.fromiter(
        map(_is_followed, columns["planned_train"], used, glass), dtype=bool
    )
    return frame


def _categories(values: Iterable[str]) -> pd.Categorical:
    """Return texts as categories in the order in which they come; pandas would sort them first."""
    numbers: dict[str, int] = defaultdict(count().__next__)
    codes = np.fromiter(map(numbers.__getitem__, values), dtype=np.intp)
    return pd.Categorical.from_codes(codes, categories=pd.Index(list(numbers), dtype=object))


@cache
def _train_words(*parts: str) -> str:
    return " + ".join(part for part in parts if part)


@cache
def _target_key(identifier: str, name: str) -> str:
    return identifier or name.casefold()


@cache
def _is_followed(planned: str, used: str, glass: str) -> bool:
    return _folded(planned) in {_folded(used), _folded(glass)}


def _folded(text: str) -> str:
    return " ".join(text.split()).casefold()


def _hours(looks: pd.DataFrame, sessions: Sequence[JournalSession]) -> float:
    """Add up the sessions; what several of them share counts once."""
    last = dict(zip(looks["session_id"], looks["at"], strict=True))  # in order of time
    spans = []
    for session in sessions:
        until = datetime.fromisoformat(last[session.id]) if session.id in last else session.start
        spans.append((session.start, session.end or until))
    seconds, reached = 0.0, datetime.min.replace(tzinfo=UTC)
    for start, end in sorted(spans):
        seconds += max(0.0, (end - max(start, reached)).total_seconds())
        reached = max(reached, end)
    return seconds / 3600.0


def _counted(values: pd.Series[Any]) -> Counts:
    """Count values, the most frequent first and equally frequent ones by name."""
    counts = values.value_counts().to_dict()
    return _most_first((str(name), int(times)) for name, times in counts.items() if times)


def _most_first(counts: Iterable[tuple[str, int]]) -> Counts:
    return tuple(sorted(counts, key=lambda item: (-item[1], item[0])))


def _mean(values: pd.Series[Any]) -> float | None:
    return float(values.mean()) if values.notna().any() else None


def _eyepieces(done: pd.DataFrame) -> tuple[EyepieceUse, ...]:
    planned = done[done["planned_train"] != ""]
    first = planned["planned_train"].astype(str).str.split(" + ", regex=False).str[0]
    plans = first.value_counts()
    uses = [
        _eyepiece(str(name), group, len(done), int(plans.get(str(name), 0)), len(planned))
        for name, group in done.groupby("eyepiece", sort=False, observed=True)
    ]
    return tuple(sorted(uses, key=lambda use: (-use.looks, use.name)))


def _eyepiece(
    name: str, group: pd.DataFrame, looks: int, planned: int, all_planned: int
) -> EyepieceUse:
    pupils = group["exit_pupil_mm"].dropna()
    low, middle, high = (
        (float(pupils.min()), float(pupils.median()), float(pupils.max()))
        if len(pupils)
        else (None, None, None)
    )
    had = group[group["planned_train"] != ""]
    is_own = had["planned_train"].astype(str).str.split(" + ", regex=False).str[0] == name
    against = had[~is_own]
    return EyepieceUse(
        name, len(group), group["evening"].nunique(), low, middle, high, _mean(group["rating"]),
        int(group["rating"].notna().sum()), _counted(group["target_kind"]),
        share=len(group) / looks,
        planned_share=planned / all_planned if all_planned else None,
        against_plan=len(against),
        seen_against_plan=int((against["outcome"] == Outcome.SEEN).sum()),
        rating_against_plan=_mean(against["rating"]),
        rating_as_planned=_mean(had.loc[is_own, "rating"]),
    )  # fmt: skip


def _kinds(done: pd.DataFrame) -> tuple[KindUse, ...]:
    uses = []
    for kind, group in done.groupby("target_kind", sort=False, observed=True):
        seen = group[group["outcome"] == Outcome.SEEN]
        counts = (str(kind), len(group), group["key"].nunique(), seen["key"].nunique())
        if kind == Kind.DOUBLE_STAR:
            known = seen.dropna(subset=["target_major_arcmin"])
            best = known.nsmallest(1, "target_major_arcmin")
            gaps, names = 60.0 * best["target_major_arcmin"], best["target_name"]
            gap = round(float(gaps.iloc[0]), 2) if len(known) else None
            closest = str(names.iloc[0]) if len(known) else ""
            uses.append(KindUse(*counts, None, "", gap, closest))
            continue
        known = seen.dropna(subset=["target_magnitude"])
        best = known.nlargest(1, "target_magnitude")
        magnitude = float(best["target_magnitude"].iloc[0]) if len(known) else None
        uses.append(
            KindUse(*counts, magnitude, str(best["target_name"].iloc[0]) if len(known) else "")
        )
    return tuple(sorted(uses, key=lambda use: (-use.looks, use.kind)))


def _plan(looks: pd.DataFrame) -> PlanUse:
    skipped = looks[looks["outcome"] == Outcome.SKIPPED]
    had = looks[
        (looks["planned_train"] != "")
        & (looks["eyepiece"] != "")
        & (looks["outcome"] != Outcome.SKIPPED)
    ]
    overruled = had[~had["followed"]]
    timed = looks[looks["planned_at"].notna() & (looks["outcome"] != Outcome.SKIPPED)]
    late = pd.to_datetime(timed["at"]) - pd.to_datetime(timed["planned_at"])
    return PlanUse(
        planned=len(had),
        followed=len(had) - len(overruled),
        overrulings=_overrulings(overruled),
        rating_followed=_mean(had.loc[had["followed"], "rating"]),
        rating_overruled=_mean(overruled["rating"]),
        delay_min=float(late.dt.total_seconds().median()) / 60.0 if len(timed) else None,
        skipped=_counted(skipped["why_skipped"]),
    )


def _overrulings(overruled: pd.DataFrame) -> tuple[Overruling, ...]:
    counts: Any = overruled[["planned_train", "used", "target_kind"]].value_counts().to_dict()
    kinds: dict[tuple[str, str], list[tuple[str, int]]] = {}
    for (planned, used, kind), times in counts.items():
        if times:
            kinds.setdefault((str(planned), str(used)), []).append((str(kind), int(times)))
    changes = [
        Overruling(planned, used, sum(times for _, times in found), _most_first(found))
        for (planned, used), found in kinds.items()
    ]
    return tuple(sorted(changes, key=lambda change: (-change.times, change.planned, change.used)))


def _targets(looks: pd.DataFrame) -> tuple[TargetUse, ...]:
    done = looks[looks["outcome"] != Outcome.SKIPPED]
    seen = done[done["outcome"] == Outcome.SEEN]
    times = seen["key"].value_counts().to_dict()
    glasses: dict[str, list[tuple[str, int]]] = {}
    pairs: Any = seen.loc[seen["eyepiece"] != "", ["key", "eyepiece"]].value_counts().to_dict()
    for (key, eyepiece), seen_in in pairs.items():
        if seen_in:
            glasses.setdefault(key, []).append((str(eyepiece), int(seen_in)))
    looks_at = done["key"].value_counts().to_dict()
    latest = done.drop_duplicates("key", keep="last")
    uses = [
        TargetUse(
            str(id_), str(name), int(looks_at[key]), int(times.get(key, 0)),
            _most_first(glasses.get(key, ())),
        )
        for key, id_, name in zip(
            latest["key"], latest["target_id"], latest["target_name"], strict=True
        )
    ]  # fmt: skip
    return tuple(sorted(uses, key=lambda use: (-use.looks, use.name)))


def _list_state(
    name: str, listed: Sequence[tuple[str, str]], targets: Sequence[TargetUse]
) -> ListState:
    known = {use.id: use for use in targets if use.id}
    seen = tuple(item for item in listed if item[0] in known and known[item[0]].seen)
    sought = tuple(item for item in listed if item[0] in known and not known[item[0]].seen)
    not_yet = tuple(item for item in listed if item[0] not in known)
    return ListState(name, seen, sought, not_yet)
