"""300 damaged files: a clear report for each, no traceback, and nothing changed behind it."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from targets.userlists.store import read_list

COUNT = 300
# A user waits no longer for a report; a machine under load is allowed for.
COMETS = (
    "    CJ95O010  1997 03 31.4141  0.914142  0.995086  130.5887  282.4707   89.4300  20220809"
    "  -2.0  4.0  C/1995 O1 (Hale-Bopp)                                    MPC106342\n"
    "0002P         2023 10 22.5292  0.339209  0.847359  187.2945  334.0164   11.3405  20231027"
    "  11.5  6.0  2P/Encke                                                 MPC 98765\n"
)
CERES = (
    "00001    3.33  0.15 K239D  17.21569   73.47045   80.26013   10.58634  0.0789126  0.21411523"
    "   2.7672543  0 E2023-F87  7283 123 1801-2023 0.65 M-v 30k MPCLINUX   4000      (1) Ceres"
    "              20230321\n"
)
TABLE = (
    "name,ra,dec,type,size,mag,notes\nM42,,,,,,sketch\nMy spot,05:35:17,-05:23:28,asterism,30,5,\n"
    "NGC 891,35.6,42.3,galaxy,13x3,9.9,edge on\nBlob,84.5,12.25,dark nebula,40,,seen twice\n"
)
BOMB = (
    '<?xml version="1.0"?><!DOCTYPE b [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY a{n} "{"&a" + str(n - 1) + ";" if n else "&a;"}">' for n in range(9))
    + "]><VOTABLE>&a8;</VOTABLE>"
)
HOSTILE = (
    "=HYPERLINK(\"http://a.invalid\")", "<script>alert(1)</script>", "[link=file:///]x[/link]",
    "\x1b[2J\x1b[31m", "../../etc/passwd", "'; DROP TABLE entry; --", "\u202egnp.exe", "%s%n{0}",
    "nan", "inf", "1e999", "--", "0x41", "99999999999999999999", "\ufeff", "null",
)  # fmt: skip
Damage = Callable[[bytes, random.Random], bytes]


@cache
def sound_files() -> dict[str, bytes]:
    """Return one good file of each format."""
    from astropy import units  # noqa: PLC0415  # half a second, here only
    from astropy.table import Column, Table  # noqa: PLC0415

    table = Table(
        {
            "name": ["M57", "Spot", "NGC 891", "Blob"],
            "ra": Column([283.4, 83.8, 35.6, 84.5], unit=units.deg),
            "dec": Column([33.0, -5.4, 42.3, 12.2], unit=units.deg),
            "size": Column([1.4, 30.0, 13.0, 40.0], unit=units.arcmin),
            "notes": ["ring", "own", "edge", "dark"],
        }
    )
    written: dict[str, bytes] = {}
    for name, form in (("fits", "fits"), ("vot", "votable")):
        file = io.BytesIO()
        table.write(file, format=form)
        written[name] = file.getvalue()
    text = io.StringIO()
    table.write(text, format="ascii.ecsv")
    return written | {
        "ecsv": text.getvalue().encode(),
        "csv": TABLE.encode(),
        "semicolon.csv": TABLE.replace(",", ";").replace("84.5", "84,5").encode(),
        "txt": b"# spring\nM3 # a ball\nNGC 4565\nthe ring nebula\nSaturn\n",
        "comets.txt": COMETS.encode(),
        "orbits.txt": CERES.encode(),
    }


def cut_off(content: bytes, dice: random.Random) -> bytes:
    """End somewhere in the middle, as a broken download does."""
    return content[: dice.randrange(len(content))]


def flip_bytes(content: bytes, dice: random.Random) -> bytes:
    """Put noise in a few places."""
    damaged = bytearray(content)
    for _ in range(dice.randint(1, 12)):
        damaged[dice.randrange(len(damaged))] = dice.randrange(256)
    return bytes(damaged)


def lose_lines(content: bytes, dice: random.Random) -> bytes:
    """Leave out every other line, the header as well as others."""
    return b"\n".join(line for line in content.split(b"\n") if dice.random() < 0.6)


def repeat(content: bytes, dice: random.Random) -> bytes:
    """Say everything twice and more."""
    return content * dice.randint(2, 4)


def wrong_columns(content: bytes, dice: random.Random) -> bytes:
    """Name the columns otherwise, or twice."""
    old = dice.choice([b"name", b"ra", b"dec", b"notes"])
    return content.replace(old, dice.choice([b"ra", b"dec", b"xyz", b"", b"RA (kg)", b"Dec B1950"]))


def swap_delimiters(content: bytes, dice: random.Random) -> bytes:
    """Mix the signs between the fields."""
    signs = [b",", b";", b"\t", b"|"]
    return content.replace(dice.choice(signs), dice.choice(signs))


def hostile_words(content: bytes, dice: random.Random) -> bytes:
    """Put what other programs would run or show as commands into fields."""
    word = dice.choice(HOSTILE).encode()
    old = dice.choice([b"Blob", b"84.5", b"seen twice", b"M3", b"2P/Encke", b"(1) Ceres", b"30"])
    return content.replace(old, word)


def bad_numbers(content: bytes, dice: random.Random) -> bytes:
    """Make coordinates and elements impossible."""
    old = dice.choice([b"84.5", b"12.25", b"35.6", b"0.914142", b"0.0789126", b"83.8", b"05:35:17"])
    new = dice.choice([b"nan", b"1e309", b"-999", b"4:88:77", b"12h", b"", b"0,5,5", b"0.9x4142"])
    return content.replace(old, new)


def other_encoding(content: bytes, dice: random.Random) -> bytes:
    """Save it as other programs do."""
    text = content.decode("latin-1").replace("own", "\u00f6wn")
    return text.encode(
        dice.choice(["utf-16", "utf-16-le", "utf-32", "cp1252", "cp037", "utf-7"]), "replace"
    )


def unbalanced_quotes(content: bytes, dice: random.Random) -> bytes:
    """Begin a quotation that does not end."""
    place = dice.randrange(len(content))
    return content[:place] + dice.choice([b'"', b"'", b"<", b"&", b"{", b"- "]) + content[place:]


def huge(content: bytes, dice: random.Random) -> bytes:
    """Grow to more rows than a list may have, now and then, or one endless line."""
    if dice.random() < 0.1:
        return content + b"x1,1,2,,,,\n" * 1_000_000
    return content.rstrip(b"\n") + b"y" * 3_000_000


def bomb(_content: bytes, dice: random.Random) -> bytes:
    """Expand to much from little, or ask for what lies elsewhere."""
    stream = "<VOTABLE><RESOURCE><TABLE><DATA><BINARY><STREAM {}</STREAM></BINARY></DATA></TABLE>"
    return dice.choice(
        [
            BOMB,
            stream.format('href="file:///etc/passwd">'),
            stream.format('encoding="gzip">H4sIAAAA'),
            "<VOTABLE>" + "<RESOURCE>" * 50_000,
            '<?xml version="1.0" encoding="utf-99"?><VOTABLE><RESOURCE/></VOTABLE>',
            "# %ECSV 1.0\n# ---\n# datatype: &a [*a, *a]\n# - {name: x, datatype: object}\nx\n1\n",
            "# %ECSV 1.0\n# ---\n# - !!python/object/apply:os.system ['touch owned']\nx\n1\n",
        ]
    ).encode()


def fits_lies(_content: bytes, dice: random.Random) -> bytes:
    """Announce other sizes than there are."""
    cards = [(b"NAXIS2  =                    4", b"NAXIS2  =           2000000000"),
             (b"NAXIS1  =", b"NAXIS7  ="), (b"TFORM1  = '7A      '", b"TFORM1  = '999999PD'"),
             (b"BITPIX  =                    8", b"BITPIX  =                  -99"),
             (b"PCOUNT  =                    0", b"PCOUNT  =          99999999999"),
             (b"TTYPE1  = 'name", b"TTYPE1  = '\x00\xff\x1b[")]  # fmt: skip
    return sound_files()["fits"].replace(*dice.choice(cards))


DAMAGES: tuple[Damage, ...] = (
    cut_off, flip_bytes, lose_lines, repeat, wrong_columns, swap_delimiters, hostile_words,
    bad_numbers, other_encoding, unbalanced_quotes, huge, bomb, fits_lies,
)  # fmt: skip


def damaged_file(number: int) -> tuple[str, bytes]:
    """Return the name and the content of one of the files; the same at every run."""
    dice = random.Random(number)  # noqa: S311  # not for secrets
    damage = DAMAGES[number % len(DAMAGES)]
    names = list(sound_files())
    name = names[number // len(DAMAGES) % len(names)]
    if damage is huge:
        name = "csv"
    return name, damage(sound_files()[name], dice)


def snapshot(folder: Path) -> dict[str, bytes]:
    """Return all that is in a folder."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("first", range(0, COUNT, 50))
def test_damaged_files(run: Any, write: Any, tmp_path: Path, first: int) -> None:
    """Each is told in sentences or reported line by line; only a whole list is ever kept."""
    write("home/data/lists/mine.list.json", run_once_kept(run, write, tmp_path))
    before = snapshot(tmp_path / "home")
    for number in range(first, first + 50):
        name, content = damaged_file(number)
        result = run("targets", "add", write(f"x{name}", content), "--name", "new")
        said = result.out + result.err
        assert result.status in {0, 2}, (number, said)
        assert "Traceback" not in said, number
        assert len(said.strip()) > 20, number
        assert all(char.isprintable() or char == "\n" for char in said), (number, said)
        after = snapshot(tmp_path / "home")
        if result.status == 0:
            news = after.keys() - before.keys()
            assert len(news) == 1, number
            path = tmp_path / "home" / news.pop()
            assert read_list(path).entries, number
            path.unlink()
            after = snapshot(tmp_path / "home")
        assert after == before, number
    assert not (Path.cwd() / "owned").exists()


def run_once_kept(run: Any, write: Any, tmp_path: Path) -> bytes:
    """Return the file of a list that was there before."""
    assert run("targets", "add", write("mine.txt", "M31\n")).status == 0
    return (tmp_path / "home" / "data" / "lists" / "mine.list.json").read_bytes()


def test_the_damage_is_real() -> None:
    """Most files differ from the sound ones, and all kinds of damage and formats occur."""
    sound = set(sound_files().values())
    files = [damaged_file(number) for number in range(COUNT)]
    assert sum(content not in sound for _, content in files) > COUNT * 0.7
    assert {name for name, _ in files} == set(sound_files())
    assert {content.count(b"\n") > 1_000_000 for _, content in files} == {True, False}


def test_sound_files_are_kept(run: Any, write: Any) -> None:
    """What the damage is done to is itself in order."""
    for name, content in sound_files().items():
        result = run("targets", "add", write(f"x{name}", content), "--name", f"n{len(name)}{name}")
        assert result.status == 0, (name, result.out)
