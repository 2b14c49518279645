"""The 88 constellations: three-letter abbreviations and names, as the IAU has them."""

from __future__ import annotations

from types import MappingProxyType

from targets.characters import harmless
from targets.errors import UserError

LONGEST_QUOTED = 40

# Adopted by the IAU in 1922: Transactions of the IAU, vol. I, p. 158.
NAMES = MappingProxyType(
    {
        "And": "Andromeda",
        "Ant": "Antlia",
        "Aps": "Apus",
        "Aqr": "Aquarius",
        "Aql": "Aquila",
        "Ara": "Ara",
        "Ari": "Aries",
        "Aur": "Auriga",
        "Boo": "Boötes",
        "Cae": "Caelum",
        "Cam": "Camelopardalis",
        "Cnc": "Cancer",
        "CVn": "Canes Venatici",
        "CMa": "Canis Major",
        "CMi": "Canis Minor",
        "Cap": "Capricornus",
        "Car": "Carina",
        "Cas": "Cassiopeia",
        "Cen": "Centaurus",
        "Cep": "Cepheus",
        "Cet": "Cetus",
        "Cha": "Chamaeleon",
        "Cir": "Circinus",
        "Col": "Columba",
        "Com": "Coma Berenices",
        "CrA": "Corona Australis",
        "CrB": "Corona Borealis",
        "Crv": "Corvus",
        "Crt": "Crater",
        "Cru": "Crux",
        "Cyg": "Cygnus",
        "Del": "Delphinus",
        "Dor": "Dorado",
        "Dra": "Draco",
        "Equ": "Equuleus",
        "Eri": "Eridanus",
        "For": "Fornax",
        "Gem": "Gemini",
        "Gru": "Grus",
        "Her": "Hercules",
        "Hor": "Horologium",
        "Hya": "Hydra",
        "Hyi": "Hydrus",
        "Ind": "Indus",
        "Lac": "Lacerta",
        "Leo": "Leo",
        "LMi": "Leo Minor",
        "Lep": "Lepus",
        "Lib": "Libra",
        "Lup": "Lupus",
        "Lyn": "Lynx",
        "Lyr": "Lyra",
        "Men": "Mensa",
        "Mic": "Microscopium",
        "Mon": "Monoceros",
        "Mus": "Musca",
        "Nor": "Norma",
        "Oct": "Octans",
        "Oph": "Ophiuchus",
        "Ori": "Orion",
        "Pav": "Pavo",
        "Peg": "Pegasus",
        "Per": "Perseus",
        "Phe": "Phoenix",
        "Pic": "Pictor",
        "Psc": "Pisces",
        "PsA": "Piscis Austrinus",
        "Pup": "Puppis",
        "Pyx": "Pyxis",
        "Ret": "Reticulum",
        "Sge": "Sagitta",
        "Sgr": "Sagittarius",
        "Sco": "Scorpius",
        "Scl": "Sculptor",
        "Sct": "Scutum",
        "Ser": "Serpens",
        "Sex": "Sextans",
        "Tau": "Taurus",
        "Tel": "Telescopium",
        "Tri": "Triangulum",
        "TrA": "Triangulum Australe",
        "Tuc": "Tucana",
        "UMa": "Ursa Major",
        "UMi": "Ursa Minor",
        "Vel": "Vela",
        "Vir": "Virgo",
        "Vol": "Volans",
        "Vul": "Vulpecula",
    }
)

# As in "beta Cygni" (textbook).
GENITIVES = MappingProxyType(
    {
        "And": "Andromedae",
        "Ant": "Antliae",
        "Aps": "Apodis",
        "Aqr": "Aquarii",
        "Aql": "Aquilae",
        "Ara": "Arae",
        "Ari": "Arietis",
        "Aur": "Aurigae",
        "Boo": "Boötis",
        "Cae": "Caeli",
        "Cam": "Camelopardalis",
        "Cnc": "Cancri",
        "CVn": "Canum Venaticorum",
        "CMa": "Canis Majoris",
        "CMi": "Canis Minoris",
        "Cap": "Capricorni",
        "Car": "Carinae",
        "Cas": "Cassiopeiae",
        "Cen": "Centauri",
        "Cep": "Cephei",
        "Cet": "Ceti",
        "Cha": "Chamaeleontis",
        "Cir": "Circini",
        "Col": "Columbae",
        "Com": "Comae Berenices",
        "CrA": "Coronae Australis",
        "CrB": "Coronae Borealis",
        "Crv": "Corvi",
        "Crt": "Crateris",
        "Cru": "Crucis",
        "Cyg": "Cygni",
        "Del": "Delphini",
        "Dor": "Doradus",
        "Dra": "Draconis",
        "Equ": "Equulei",
        "Eri": "Eridani",
        "For": "Fornacis",
        "Gem": "Geminorum",
        "Gru": "Gruis",
        "Her": "Herculis",
        "Hor": "Horologii",
        "Hya": "Hydrae",
        "Hyi": "Hydri",
        "Ind": "Indi",
        "Lac": "Lacertae",
        "Leo": "Leonis",
        "LMi": "Leonis Minoris",
        "Lep": "Leporis",
        "Lib": "Librae",
        "Lup": "Lupi",
        "Lyn": "Lyncis",
        "Lyr": "Lyrae",
        "Men": "Mensae",
        "Mic": "Microscopii",
        "Mon": "Monocerotis",
        "Mus": "Muscae",
        "Nor": "Normae",
        "Oct": "Octantis",
        "Oph": "Ophiuchi",
        "Ori": "Orionis",
        "Pav": "Pavonis",
        "Peg": "Pegasi",
        "Per": "Persei",
        "Phe": "Phoenicis",
        "Pic": "Pictoris",
        "Psc": "Piscium",
        "PsA": "Piscis Austrini",
        "Pup": "Puppis",
        "Pyx": "Pyxidis",
        "Ret": "Reticuli",
        "Sge": "Sagittae",
        "Sgr": "Sagittarii",
        "Sco": "Scorpii",
        "Scl": "Sculptoris",
        "Sct": "Scuti",
        "Ser": "Serpentis",
        "Sex": "Sextantis",
        "Tau": "Tauri",
        "Tel": "Telescopii",
        "Tri": "Trianguli",
        "TrA": "Trianguli Australis",
        "Tuc": "Tucanae",
        "UMa": "Ursae Majoris",
        "UMi": "Ursae Minoris",
        "Vel": "Velorum",
        "Vir": "Virginis",
        "Vol": "Volantis",
        "Vul": "Vulpeculae",
    }
)


class UnknownConstellation(UserError, LookupError):  # noqa: N818 - the name says what is wrong
    """No constellation has that name; the message names the nearest."""


def constellation_code(text: str) -> str:
    """Return the abbreviation of a constellation.

    Parameters
    ----------
    text : str
        Abbreviation or name, in any case, with or without blanks and accents: ``and``,
        ``Andromeda``, ``canes venatici``, ``Bootes``.

    Returns
    -------
    str
        The three letters, such as ``And``.

    Raises
    ------
    UnknownConstellation
        When nothing is called that; the message is a sentence with the nearest names.
    """
    by_key = {_key(word): code for code, name in NAMES.items() for word in (code, name)}
    code = by_key.get(_key(text[:80]))
    if code is not None:
        return code
    import difflib  # noqa: PLC0415  # only for what is misspelled

    near = difflib.get_close_matches(_key(text[:80]), by_key, n=3, cutoff=0.6)
    # An abbreviation and its own name may both be near.
    codes = dict.fromkeys(by_key[key] for key in near)
    hint = ", ".join(f"{code} ({NAMES[code]})" for code in codes)
    verb = "is" if len(codes) == 1 else "are"
    ending = f"nearest {verb} {hint}" if near else "give three letters such as And, or a name"
    raise UnknownConstellation(f"no constellation is called {quoted(text)}: {ending}")


def quoted(text: str) -> str:
    """Put what a user typed between quotes, fit to stand in a sentence on one line."""
    plain = harmless(text[: LONGEST_QUOTED + 1])
    return f"'{plain[:LONGEST_QUOTED]}…'" if len(text) > LONGEST_QUOTED else f"'{plain}'"


def _key(text: str) -> str:
    return "".join(text.split()).casefold().replace("ö", "o")
