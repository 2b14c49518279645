"""Every key, once: footer, help screen and README are made from this table."""

from __future__ import annotations

from functools import cache

from targets.frozen import frozen


@frozen
class Key:
    """A key and what it does.

    Parameters
    ----------
    action : str
        Of the screens.
    key : str
        As the terminal names it.
    shown : str
        As it is shown.
    label : str
        For the footer.
    help : str
        For the help screen and the README.
    in_footer : bool
        Whether it comes first where not all keys fit the footer.
    """

    action: str
    key: str
    shown: str
    label: str
    help: str
    in_footer: bool = False


KEYS = (
    Key(
        "open_target",
        "enter",
        "Enter",
        "target",
        "the target in hand: field, reasons, curve",
        in_footer=True,
    ),
    Key(
        "log_done",
        "d",
        "d",
        "done",
        "done: what came of it? then on to the next",
        in_footer=True,
    ),
    Key("skip", "s", "s", "skip", "skip this look", in_footer=True),
    Key("skip_why", "x", "x", "skip, why", "skip this look, and keep the reason in the journal"),
    Key("cloud", "c", "c", "cloud", "cloud: close or dim a part of the sky", in_footer=True),
    Key("clear", "o", "o", "open", "open the sky again, all of it"),
    Key("best_now", "n", "n", "now", "what is best now, and what is nearly lost", in_footer=True),
    Key(
        "at_this",
        "i",
        "i",
        "at it",
        "I am at this one: its look begins now, the rest comes behind",
        in_footer=True,
    ),
    Key("same", "g", "g", "same", "go to what is best now in the eyepiece that is in"),
    Key("way", "p", "p", "find it", "how to point to this target: star by star, drawn too"),
    Key(
        "eye", "j", "j", "your eye", "your own eye or the average one; looks that teach most of it"
    ),
    Key("swap", "e", "e", "eyepiece", "another eyepiece for this look"),
    Key("longer", "l", "l", "longer", "stay longer with the look under way"),
    Key("sky", "h", "h", "sky", "what the sky is like now: seeing, transparency, reading, dew"),
    Key("late", "r", "r", "late", "running late: all that waits begins later"),
    Key("until", "t", "t", "until", "until when the night goes on: longer, or from now on anew"),
    Key("pause", "b", "b", "break", "take a break"),
    Key("add", "a", "a", "add", "add any target, found by name"),
    Key("veto", "v", "v", "keep out", "keep this target out for tonight"),
    Key("write", "w", "w", "write", "write this look into the journal without ending it"),
    Key(
        "undo",
        "u",
        "u",
        "undo",
        "take the last move back, and what it wrote into the journal",
        in_footer=True,
    ),
    Key("redo", "y", "y", "redo", "make the move again that was undone"),
    Key("messages", "m", "m", "messages", "all that was said since the start, the latest first"),
    Key("kit", "k", "k", "kit", "the kit: its numbers, and what each eyepiece is for in a year"),
    Key("enlarge", "z", "z", "large", "large print, and back; enlarges the field of a target"),
    Key("face", "f", "f", "face", "the red face for the dark, or the day face"),
    Key("brighter", "plus", "+", "brighter", "a little brighter, up to the limit of the face"),
    Key("darker", "minus", "-", "darker", "a little darker"),
    Key("help", "question_mark", "?", "help", "this page", in_footer=True),
    Key(
        "quit",
        "q",
        "q",
        "quit",
        "leave; the night is taken up again where it stood",
        in_footer=True,
    ),
)
# Whoever does not know the others finds them by the first of these.
ALWAYS = ("help", "quit")
ACTIONS = {key.key: key.action for key in KEYS}
MOVES_OF_THE_CURSOR = (
    ("Up, Down", "choose a look"),
    ("PgUp, PgDn", "by pages; beside a target's field, the words that do not fit"),
    ("Esc", "back, without changing anything"),
    ("Ctrl-L", "paint the screen anew"),
)


@cache
def footer_text(width: int) -> str:
    """Return the keys of the footer in the table's order, the most needed if not all fit."""
    taken: list[Key] = []
    for key in sorted(KEYS, key=lambda key: (not key.in_footer, key.action not in ALWAYS)):
        wider = sorted([*taken, key], key=KEYS.index)
        if len(_footer(wider)) > width:
            break
        taken = wider
    return _footer(taken)


def _footer(keys: list[Key]) -> str:
    return "  ".join(f"{key.shown} {key.label}" for key in keys)


WORDS_OF_THE_LIST = (
    ("NOW", "under way; next, wait: to come; done, skip: over; d?: taken as done"),
    ("lost", "finds no place in what is left of the night; its line says why"),
    ("shut", "lost to cloud that is still there; o opens the sky"),
    ("fill", "the target's long side against the field: 100% fills it"),
    ("up, at", "degrees above the horizon, and where along it"),
    ("seen", "how easily: easy, fair, hard, very hard, unlikely"),
    ("seen 4", "of what is over: seen, suspected or unseen, and its rating"),
    ("you?", "whether you see it teaches; the grade is told once you have said so"),
)


def help_lines() -> list[str]:
    """Return a line for each key, for the help screen and the README."""
    pairs = [*MOVES_OF_THE_CURSOR, *((key.shown, key.help) for key in KEYS)]
    return [f"{shown:<10} {words}" for shown, words in pairs]


def word_lines() -> list[str]:
    """Return a line for each word of the list, for the help screen."""
    return [f"{shown:<10} {words}" for shown, words in WORDS_OF_THE_LIST]
