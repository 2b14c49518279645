"""Attacks on a journal's files, seeded: some seconds by default, minutes with ``-m slow -s``.

Each campaign counts what it tried and what held. A try holds when every look that was acknowledged
is there, once, with its session, when one can be added, and when a second opening has nothing more
to put right.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
    new_id,
)
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import open_journal
from planner.journal.store.recovery import rescue

WRITER = Path(__file__).parent / "writing.py"
EVENINGS, LOOKS, IN_THE_LOG = 6, 12, 21
HEADER_BITS = 800  # sqlite.org "Database File Format" 1.3: the header has 100 bytes
PAGE = 4096
AT = datetime(2026, 3, 1, 20, tzinfo=UTC)
FEW, MANY = 2, 200
PERHAPS = "Looks may be missing"

Damage = Callable[[random.Random, bytearray], None]


@dataclass(frozen=True, slots=True)
class Files:
    """What a journal is made of at some moment, and which looks it holds."""

    main: bytes
    log: bytes
    copy: bytes
    ledger: bytes
    looks: frozenset[JournalEntry]

    def bare(self) -> Files:
        """Return the same without any copy."""
        return replace(self, copy=b"", ledger=b"")


@dataclass(slots=True)
class Tally:
    """What was tried, and what did not hold."""

    tried: int = 0
    failed: list[str] = field(default_factory=list)
    lost: int = 0
    doubled: int = 0
    untold: int = 0

    def words(self) -> str:
        """Return the figures."""
        held = self.tried - len(self.failed)
        words = f"{self.tried} tried, {held} held; {self.lost} lost, {self.doubled} doubled"
        return f"{words}; {self.untold} times untold"


def look(session: JournalSession, number: int) -> JournalEntry:
    """Return a look of a session, with a note as long as notes are."""
    words = "a ring, brighter to the west; " * random.Random(number).randint(0, 40)  # noqa: S311
    target = LoggedTarget("NGC6720", "M57 Ring Nebula", "planetary nebula", "Lyr", 283.4, 33.03)
    at = session.start + timedelta(minutes=number % 200, microseconds=number)
    return JournalEntry(
        new_id(), session.id, at, target, LoggedTrain("200 mm f/6"), Outcome.SEEN, note=words
    )


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Files:
    """Return the files of a journal that was closed, and then written by a program that was killed.

    What was written since the closing is in the log alone.
    """
    path = tmp_path_factory.mktemp("attacked") / "journal.sqlite"
    sessions = [
        JournalSession(
            new_id(), date(2026, 3, 1) + timedelta(n), "Garden", "UTC", AT + timedelta(n)
        )
        for n in range(EVENINGS)
    ]
    with open_journal(path) as journal:
        for number, session in enumerate(sessions):
            looks = [look(session, number * LOOKS + n) for n in range(LOOKS)]
            journal.add_all([session], looks)
    with open_journal(path) as journal:
        copy = path.with_name("journal.backup-1.sqlite").read_bytes()
        for number in range(IN_THE_LOG):
            journal.add(look(sessions[-1], 1000 + number))
        log = path.with_name("journal.sqlite-wal").read_bytes()
        ledger = path.with_name("journal.ledger.jsonl").read_bytes()
        return Files(path.read_bytes(), log, copy, ledger, frozenset(journal.entries()))


@pytest.fixture(scope="module")
def closed(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Files:
    """Return the files of a journal that was closed: with its copy, without a log."""
    path = tmp_path_factory.mktemp("closed") / "journal.sqlite"
    path.write_bytes(files.main)
    path.with_name("journal.sqlite-wal").write_bytes(files.log)
    path.with_name("journal.ledger.jsonl").write_bytes(files.ledger)
    with open_journal(path) as journal:
        last = journal.entries()[-1]
        journal.amend(last.id, changed_at=AT, note="the last of all")
        looks = frozenset(journal.entries())
    copy = path.with_name("journal.backup-1.sqlite").read_bytes()
    ledger = path.with_name("journal.ledger.jsonl").read_bytes()
    return Files(path.read_bytes(), b"", copy, ledger, looks)


def attack(
    folder: Path,
    files: Files,
    *,
    times: int,
    main: Damage | None = None,
    log: Damage | None = None,
    copy: Damage | None = None,
    ledger: Damage | None = None,
) -> Tally:
    """Damage the files of a journal again and again, open it, and count what was not held."""
    tally = Tally()
    for seed in range(times):
        chance = random.Random(seed)  # noqa: S311  # places, not secrets
        path = folder / f"{seed}" / "journal.sqlite"
        path.parent.mkdir()
        for name, content, damage in (
            ("journal.sqlite", files.main, main), ("journal.sqlite-wal", files.log, log),
            ("journal.backup-1.sqlite", files.copy, copy),
            ("journal.ledger.jsonl", files.ledger, ledger),
        ):  # fmt: skip
            changed = bytearray(content)
            if damage is not None:
                damage(chance, changed)
            if content:
                path.with_name(name).write_bytes(changed)
        judge(path, files.looks, seed, tally)
    return tally


def judge(path: Path, looks: frozenset[JournalEntry], seed: int, tally: Tally) -> None:
    """Open a journal that was attacked, and count what is not as it should be."""
    tally.tried += 1
    try:
        with open_journal(path) as journal:
            found, told = journal.entries(), journal.remarks
            sessions = {session.id for session in journal.sessions()}
            if found:
                journal.add(replace(found[0], id=new_id()))
        with open_journal(path) as journal:
            again, said = journal.count(), journal.remarks
    except JournalError as error:
        tally.failed.append(f"{seed}: {error}")
        tally.lost += len(looks)
        return
    # Without a copy a bit of its id or of its moment may have turned, and it is still that look.
    there = {look.at for look in found} | {look.id for look in found}
    lost = {look for look in looks if there.isdisjoint({look.at, look.id})}
    tally.lost += len(lost)
    tally.doubled += max(len(found) - len(looks), 0)
    tally.untold += bool(lost) and not any(PERHAPS in words for words in told)
    # A letter of a note may change unseen where nothing tells it: that is not promised.
    if lost or len(found) != len(looks) or again != len(found) + bool(found) or said:
        tally.failed.append(f"{seed}: {len(found)} of {len(looks)}, then {again}, {said}")
    elif not sessions >= {look.session_id for look in found}:
        tally.failed.append(f"{seed}: a session is missing")


def flip_a_bit(chance: random.Random, content: bytearray) -> None:
    """Turn one bit anywhere."""
    content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)


def overwrite_pages(chance: random.Random, content: bytearray) -> None:
    """Put noise over three pages."""
    for _ in range(3):
        start = chance.randrange(len(content) // PAGE) * PAGE
        content[start : start + PAGE] = chance.randbytes(PAGE)


def cut(chance: random.Random, content: bytearray) -> None:
    """Cut the file off anywhere."""
    del content[chance.randrange(len(content)) :]


def empty(chance: random.Random, content: bytearray) -> None:  # noqa: ARG001  # a damage
    """Leave nothing."""
    content.clear()


def header_bit(seed: int) -> Damage:
    """Return the damage that turns one bit of the header."""

    def flip(_: random.Random, content: bytearray) -> None:
        content[seed // 8] ^= 1 << seed % 8

    return flip


@pytest.fixture(params=[FEW, pytest.param(MANY, marks=pytest.mark.slow)], ids=["few", "many"])
def times(request: pytest.FixtureRequest) -> int:
    """Return how often a campaign tries."""
    return int(request.param)


@pytest.fixture
def report(request: pytest.FixtureRequest) -> Iterator[Callable[[Tally], None]]:
    """Return what prints the figures of a campaign, and fails if one try did not hold."""

    def report(tally: Tally) -> None:
        print(f"\n{request.node.name}: {tally.words()}")  # noqa: T201  # the figures
        assert not tally.failed, tally.failed[:5]

    return report


@pytest.mark.parametrize("damage", [flip_a_bit, overwrite_pages, cut, empty])
def test_a_closed_journal_loses_nothing(
    damage: Damage, times: int, closed: Files, tmp_path: Path, report: Callable[[Tally], None]
) -> None:
    """Whatever becomes of file and ledger, the copy that was made on closing brings all back."""
    report(attack(tmp_path, closed, times=times, main=damage, ledger=damage))


def test_no_bit_of_the_header_costs_a_look(
    times: int, closed: Files, tmp_path: Path, report: Callable[[Tally], None]
) -> None:
    """Not one makes it the file of another program or version; all of them in the long run.

    The lowest bit of the version makes it that of the next version, and is believed.
    """
    bits = [bit for bit in range(HEADER_BITS) if bit != 63 * 8]
    tally = Tally()
    for bit in bits if times == MANY else random.Random(5).sample(bits, times):  # noqa: S311
        (tmp_path / f"{bit}").mkdir()
        one = attack(tmp_path / f"{bit}", closed, times=1, main=header_bit(bit))
        tally.tried, tally.lost = tally.tried + 1, tally.lost + one.lost
        tally.failed += [f"bit {bit}: {words}" for words in one.failed]
    report(tally)


def test_a_log_beside_an_empty_file_is_not_thrown_away(
    files: Files, tmp_path: Path, report: Callable[[Tally], None]
) -> None:
    """With the copy of what was closed before, and the log of the rest, nothing is lost."""
    report(attack(tmp_path, replace(files, ledger=b""), times=1, main=empty))


@pytest.mark.parametrize("is_there", [True, False], ids=["empty", "missing"])
def test_a_journal_that_is_all_in_its_log(is_there: bool, tmp_path: Path) -> None:
    """A first evening that was never closed, and its file of zero bytes or gone."""
    path, left = tmp_path / "one" / "journal.sqlite", tmp_path / "two" / "journal.sqlite"
    session = JournalSession(new_id(), date(2026, 3, 1), "Garden", "UTC", AT)
    left.parent.mkdir()
    with open_journal(path) as journal:
        journal.add_session(session)
        for number in range(IN_THE_LOG):
            journal.add(look(session, number))
        log = path.with_name("journal.sqlite-wal").read_bytes()
        left.with_name("journal.sqlite-wal").write_bytes(log)
        ids = {entry.id for entry in journal.entries()}
    if is_there:
        left.write_bytes(b"")
    with open_journal(left) as journal:
        assert {entry.id for entry in journal.entries()} == ids
        assert journal.sessions() == (session,)
        assert "21 entries and 1 session could be read" in journal.remarks[0]
    assert left.with_name("journal.damaged-1.sqlite-wal").read_bytes() == log


@pytest.mark.parametrize("file", ["main", "log", "copy", "ledger"])
@pytest.mark.parametrize("damage", [flip_a_bit, overwrite_pages, cut, empty])
def test_no_single_file_is_needed(
    file: str,
    damage: Damage,
    times: int,
    files: Files,
    tmp_path: Path,
    report: Callable[[Tally], None],
) -> None:
    """The program was killed with looks in its log: whichever file is damaged, none is lost."""
    report(attack(tmp_path, files, times=1 if damage is empty else times, **{file: damage}))


@pytest.mark.parametrize("other", ["copy", "log"])
@pytest.mark.parametrize("damage", [flip_a_bit, overwrite_pages, cut, empty])
def test_with_its_ledger_nothing_else_is_needed(
    other: str,
    damage: Damage,
    times: int,
    files: Files,
    tmp_path: Path,
    report: Callable[[Tally], None],
) -> None:
    """Database and log damaged, or database and copy: the ledger has all."""
    report(attack(tmp_path, files, times=times, main=damage, **{other: damage}))


@pytest.mark.parametrize(
    ("file", "damage"),
    [("main", flip_a_bit), ("main", overwrite_pages), ("main", cut), ("log", flip_a_bit)],
)
def test_without_a_copy_it_is_said(
    file: str, damage: Damage, times: int, files: Files, closed: Files, tmp_path: Path
) -> None:
    """What was on a damaged page may be lost then: that is told, and the journal can be used.

    SQLite would drop what stands in the log behind a wrong bit; it is noticed and read all the
    same. What is promised of a bare log that was cut off is nothing: it cannot be seen.
    """
    attacked = closed if file == "main" else files
    tally = attack(tmp_path, attacked.bare(), times=times, **{file: damage})
    print(f"\n{damage.__name__} of {file} without a copy: {tally.words()}")  # noqa: T201  # figures
    assert not [words for words in tally.failed if "could not" in words or "cannot" in words]
    assert (tally.doubled, tally.untold) == (0, 0)


def any_damage(chance: random.Random, content: bytearray) -> None:
    """Do one of the damages, or none."""
    if len(content) >= PAGE:
        for _ in range(chance.randint(0, 2)):
            chance.choice([flip_a_bit, overwrite_pages])(chance, content)
        if chance.random() < 0.2:
            chance.choice([cut, empty])(chance, content)


def test_with_all_files_damaged_there_is_always_an_answer(
    times: int, files: Files, tmp_path: Path
) -> None:
    """Database, log and copy at once: whatever is left can be used, and is not damaged again."""
    tally = attack(
        tmp_path,
        files,
        times=2 * times,
        **dict.fromkeys(("main", "log", "copy", "ledger"), any_damage),
    )
    print(f"\nall files at once: {tally.words()}")  # noqa: T201  # the figures
    assert not [words for words in tally.failed if "cannot" in words or "took nothing" in words]
    # Where log and ledger were cut off at once nothing tells of it: that is not promised.
    assert tally.doubled == 0


def attack_writers(path: Path, *, writers: int, looks: int) -> tuple[Tally, int]:
    """Let programs write while the file is made anew again and again; count rescues too."""
    session = JournalSession(new_id(), date(2026, 3, 1), "Garden", "UTC", AT)
    with open_journal(path) as journal:
        journal.add_session(session)
    command = [sys.executable, str(WRITER), str(path), session.id, str(looks)]
    outputs = [path.with_name(f"said-{number}") for number in range(writers)]
    rescues = 0
    with ExitStack() as opened:
        files = [opened.enter_context(output.open("w")) for output in outputs]
        programs = [subprocess.Popen(command, stdout=file) for file in files]
        while any(program.poll() is None for program in programs):
            rescue(path, lambda: True)
            rescues += 1
            time.sleep(0.3)
    said = [line for output in outputs for line in output.read_text().split()]
    with open_journal(path) as journal:
        held = [entry.id for entry in journal.entries()]
    tally = Tally(len(said), [], len(set(said) - set(held)), len(held) - len(set(held)))
    if [program.returncode for program in programs] != [0] * writers or sorted(said) != sorted(
        held
    ):
        tally.failed.append(f"{len(said)} acknowledged, {len(held)} held")
    return tally, rescues


@pytest.mark.parametrize(
    ("writers", "looks"),
    [(2, 100), pytest.param(4, 3000, marks=pytest.mark.slow)], ids=["few", "many"],
)  # fmt: skip
def test_a_rescue_loses_nothing_of_those_who_write(
    writers: int, looks: int, tmp_path: Path, report: Callable[[Tally], None]
) -> None:
    """It waits for their transactions, and they find the new file before they write again."""
    tally, rescues = attack_writers(
        tmp_path / "data" / "journal.sqlite", writers=writers, looks=looks
    )
    assert rescues >= 3
    report(tally)
