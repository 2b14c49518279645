"""Makes damaged files out of good ones, always the same ones."""

from __future__ import annotations

import codecs
import json
from collections.abc import Iterator

CUTS = 24

# What stands in the good log (a whole element or attribute), and what comes in its place.
OAL_SWAPS = [
    ('version="2.1"', 'version="1.7"'),
    ('version="2.1"', 'version="3.0"'),
    ('version="2.1"', ""),
    ("<oal:observations", "<oal:beobachtungen"),
    ("http://groups.google.com/group/openastronomylog", "http://example.org/other"),
    ('id="target_2"', 'id="target_1"'),
    ('id="target_1"', ""),
    ('id="scope_1"', 'id="target_1"'),
    ('id="eyepiece_1"', 'id="observer_1"'),
    ('<ra unit="deg">299.901<', '<ra unit="hours">20.0<'),
    ('<ra unit="deg">299.901<', "<ra>299.901<"),
    ('<ra unit="deg">299.901<', '<ra unit="deg">-1<'),
    ('<ra unit="deg">299.901<', '<ra unit="deg">361<'),
    ('<ra unit="deg">299.901<', '<ra unit="rad">299.901<'),
    ('<ra unit="deg">299.901<', '<ra unit="deg">NaN<'),
    ('<ra unit="deg">299.901<', '<ra unit="deg">20h<'),
    ('<dec unit="deg">22.721<', '<dec unit="deg">92.721<'),
    ('<dec unit="deg">22.721<', '<dec unit="furlong">2<'),
    ('<dec unit="deg">22.721<', '<dec unit="deg">INF<'),
    ('<longitude unit="deg">-2.4<', '<longitude unit="deg">1e9<'),
    ('<longitude unit="deg">-2.4<', '<longitude unit="km">2<'),
    ('<latitude unit="deg">51.2<', '<latitude unit="deg">-91<'),
    ('<latitude unit="deg">51.2<', '<latitude unit="deg">north<'),
    ("<elevation>210.0<", "<elevation>1e300<"),
    ("<timezone>0<", "<timezone>summer<"),
    ("<timezone>0<", "<timezone>99999<"),
    ('<largeDiameter unit="arcmin">8.0<', '<largeDiameter unit="arcmin">-8<'),
    ('<largeDiameter unit="arcmin">8.0<', '<largeDiameter unit="pc">8<'),
    ("<visMag>7.4<", "<visMag>bright<"),
    ("<visMag>7.4<", "<visMag>1e999<"),
    ("<visMag>7.4<", "<visMag>99<"),
    ('xsi:type="oal:deepSkyPN"', 'xsi:type="oal:deepSkyXX"'),
    ('xsi:type="oal:deepSkyPN"', 'xsi:type="deepSky"'),
    ("<aperture>200.0<", "<aperture>0<"),
    ("<aperture>200.0<", "<aperture>-200<"),
    ("<aperture>200.0<", "<aperture>NaN<"),
    ("<aperture>200.0<", f"<aperture>{'9' * 400}<"),
    ("<aperture>200.0<", "<aperture>0x10<"),
    ("<focalLength>1200.0<", "<focalLength>1e999<"),
    ("<focalLength>12.0<", "<focalLength>twelve<"),
    ("<focalLength>12.0<", "<focalLength>1_2<"),
    ('<apparentFOV unit="deg">60.0<', '<apparentFOV unit="deg">600<'),
    ('<apparentFOV unit="deg">60.0<', '<apparentFOV unit="">60<'),
    ("<factor>2.0<", "<factor>-2<"),
    ("<factor>2.0<", "<factor>2,0<"),
    ("<type>O-III<", "<type>sunglasses<"),
    ("<magnification>200.0<", "<magnification>-1<"),
    ("<magnification>200.0<", "<magnification>INF<"),
    ("<seeing>2<", "<seeing>0<"),
    ("<seeing>2<", "<seeing>6<"),
    ("<seeing>2<", "<seeing>good<"),
    ("<seeing>2<", "<seeing>2.5<"),
    ("<faintestStar>5.8<", "<faintestStar>58<"),
    ("<faintestStar>5.8<", "<faintestStar>five<"),
    ('"mags-per-squarearcsec"', '"lux"'),
    ("<rating>99<", "<rating>8<"),
    ("<rating>99<", "<rating>0<"),
    ("<rating>99<", "<rating>excellent<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>2026-02-30T21:10:05+00:00<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>2026-03-14T25:10:05+00:00<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>yesterday<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>14.3.2026 21:10<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>0000-00-00T00:00:00Z<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>0001-01-01T00:00:00+14:00<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>9999-12-31T23:59:59-14:00<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin>10000-01-01T00:00:00Z<"),
    ("<begin>2026-03-14T21:10:05.123456+00:00<", "<begin><"),
    ("<begin>2026-03-14T19:00:00+00:00<", "<begin>2026-13-14T19:00:00+00:00<"),
    ('end = "2026-03-14T22:30:00+00:00"', 'end = "2026-03-13T22:30:00+00:00"'),
    ("<end>2026-03-14T22:30:00+00:00<", "<end>late<"),
    ("<scope>scope_1<", "<scope>scope_9<"),
    ("<scope>scope_1<", "<scope>target_1<"),
    ("<eyepiece>eyepiece_1<", "<eyepiece>gone<"),
    ("<lens>lens_1<", "<lens>gone<"),
    ("<filter>filter_1<", "<filter>gone<"),
    ("<target>target_1<", "<target>gone<"),
    ("<target>target_1<", "<target><"),
    ("<observer>observer_1<", "<observer>gone<"),
    ("<observer>observer_1<", "<observer><"),
    ("<site>site_1</site>\n  <session>", "<site>gone</site>\n  <session>"),
    ("<session>session_0000000000000000000000000000000a<", "<session>session_z<"),
    ("<coObserver>observer_2<", "<coObserver>nobody<"),
    ('name = "M27 Dumbbell Nebula"', "name = 27"),
    ("</oal:observations>", "</oal:observations><more/>"),
    ("</oal:observations>", "</observations>"),
    ("<observers>", "<observers><observer>"),
    ("&lt;b&gt;", "<b>"),
    ("&amp;amp;", "&nbsp;"),
    ("&amp;amp;", "&bomb;"),
    ("&lt;b&gt;", "\x01"),
    ("&lt;b&gt;", "&#0;"),
    ("&lt;b&gt;", "&#xFFFE;"),
    ("rating = 5", "rating = 6"),
    ("rating = 5", "rating = five"),
    ("rating = 5", "rating = NaN"),
    ("rating = 5", "no_such_field = 5"),
    ("rating = 5", "rating = [[[[[5]]]]]"),
    ("rating = 5", "aperture_mm = 1e400"),
    ("rating = 5", 'outcome = "glorious"'),
    ("rating = 5", "note = 5"),
    ("rating = 5", 'planned_at = "2026-03-14"'),
    ('timezone = "', 'timezone = "../../etc/passwd'),
    ('id = "NGC6853"', 'id = ["NGC6853"]'),
    ('<?xml version="1.0" encoding="UTF-8"?>', '<?xml version="1.0" encoding="klingon"?>'),
    ('encoding="UTF-8"', 'encoding="UTF-16"'),
    ('encoding="UTF-8"', 'encoding="hex_codec"'),
    ('encoding="UTF-8"', 'encoding="US-ASCII"'),
]
CONTAINERS = (
    "observers", "sites", "sessions", "targets", "scopes", "eyepieces", "lenses", "filters",
    "imagers",
)  # fmt: skip

JSON_SWAPS = [
    ('"fieldstop.journal/1"', '"fieldstop.journal/2"'),
    ('"fieldstop.journal/1"', '"fieldstop.plan/1"'),
    ('"fieldstop.journal/1"', "1"),
    ('"schema"', '"scheme"'),
    ('"entries": [', '"entries": {}, "x": ['),
    ('"entries": [', '"looks": ['),
    ('"entries": [', '"entries": [null,'),
    ('"entries": [', '"entries": [7,'),
    ('"entries": [', '"entries": [{},'),
    ('"entries": [', '"entries": [[],'),
    ('"sessions": [', '"sessions": [3,'),
    ('"sessions": [', '"sessions": "none", "y": ['),
    ('"ra_deg": 299.901', '"ra_deg": NaN'),
    ('"ra_deg": 299.901', '"ra_deg": Infinity'),
    ('"ra_deg": 299.901', '"ra_deg": 1e999'),
    ('"ra_deg": 299.901', '"ra_deg": "299"'),
    ('"ra_deg": 299.901', '"ra_deg": true'),
    ('"ra_deg": 299.901', '"ra_deg": [299]'),
    ('"ra_deg": 299.901', f'"ra_deg": {"9" * 5000}'),
    ('"ra_deg": 299.901', f'"ra_deg": {"9" * 400}'),
    ('"dec_deg": 22.721', '"dec_deg": 122.721'),
    ('"rating": 5', '"rating": 4.5'),
    ('"rating": 5', '"rating": 55'),
    ('"rating": 5', '"rating": "5"'),
    ('"rating": 5', '"rating": 5, "rating": 4'),
    ('"outcome": "seen"', '"outcome": "done"'),
    ('"outcome": "seen"', '"outcome": ["seen"]'),
    ('"own_seeing": "II"', '"own_seeing": "VI"'),
    ('"own_seeing": "II"', '"own_seeing": 2'),
    ('"own_transparency": 3', '"own_transparency": 30'),
    ('"aperture_mm": 200.0', '"aperture_mm": -200.0'),
    ('"magnification": 200.0', '"magnification": 1e300'),
    ('"at": "2026-03-14T21:10:05.123456+00:00"', '"at": "2026-03-14T21:10:05"'),
    ('"at": "2026-03-14T21:10:05.123456+00:00"', '"at": "2026-02-30T21:10:05+00:00"'),
    ('"at": "2026-03-14T21:10:05.123456+00:00"', '"at": 1773522605'),
    ('"at": "2026-03-14T21:10:05.123456+00:00"', '"at": null'),
    ('"target": {', '"target": "M27", "u": {'),
    ('"target": {', '"target": null, "u": {'),
    ('"timezone": "Europe/London"', '"timezone": "Mars/Olympus"'),
    ('"timezone": "Europe/London"', '"timezone": "/etc/passwd"'),
    ('"evening": "2026-03-14",\n      "site"', '"evening": "14 March",\n      "site"'),
    ('"start": "2026-03-14T19:00:00+00:00"', '"start": null'),
    ('"end": "2026-03-14T22:30:00+00:00"', '"end": "2026-03-14T12:30:00+00:00"'),
    ('"companions": [', '"companions": [4,'),
    ('"companions": [', '"companions": {}, "v": ['),
    (f'"id": "{"2" * 32}"', f'"id": "{"1" * 32}"'),
    (f'"id": "{"1" * 32}"', '"id": 7'),
    ('"session": "0000000000000000000000000000000a"', '"session": "gone"'),
    ('"session": "0000000000000000000000000000000a"', '"session": {}'),
]

CSV_SWAPS = [
    ('"at"', '"when"'),
    ('"at"', '"id"'),
    ('"target_name"', '"target"'),
    ('"aperture_mm"', '"aperture_in"'),
    ('"200.0"', '"200 mm"'),
    ('"200.0"', '"-200"'),
    ('"200.0"', '"nan"'),
    ('"200.0"', '"1e999"'),
    ('"200.0"', '"0x1"'),
    ('"299.901"', '"19:59:36"'),
    ('"299.901"', '"inf"'),
    ('"22.721"', '"222.721"'),
    ('"seen"', '"SEEN?"'),
    ('"II"', '"2"'),
    ('"5"', '"five"'),
    ('"5"', '"5.5"'),
    ('"2026-03-14T21:10:05.123456+00:00"', '"14/03/2026 21:10"'),
    ('"2026-03-14T21:10:05.123456+00:00"', '"2026-03-14T21:10"'),
    ('"2026-03-14T21:10:05.123456+00:00"', '""'),
    ('"Europe/London"', '"GMT?"'),
    ('"M27 Dumbbell Nebula"', '"M27" Dumbbell'),
    ('"M27 Dumbbell Nebula"', '"M27","Dumbbell Nebula"'),
    (f'"{"2" * 32}"', f'"{"1" * 32}"'),
    ('"2026-03-14T19:00:00+00:00"', '"evening"'),
    ('"[""Bo"", ""Cy Other""]"', '"[""Bo"", 4"'),
    ('"[""Bo"", ""Cy Other""]"', '"[[[""Bo""]]]"'),
]


def damaged_files(good: dict[str, str]) -> Iterator[tuple[str, str, bytes]]:
    """Return damaged files.

    Parameters
    ----------
    good : dict
        A good text by the name of its format.

    Yields
    ------
    name, form, content
    """
    swaps = {"oal": OAL_SWAPS, "json": JSON_SWAPS, "csv": CSV_SWAPS}
    for form, text in good.items():
        for number, (old, new) in enumerate(swaps[form]):
            assert old in text, f"nothing to damage: {old}"
            yield f"{form} {number}: {new[:40]!r}", form, text.replace(old, new, 1).encode()
        yield from _cut(form, text.encode())
        yield from _miscoded(form, text)
    yield from _containers(good["oal"])
    yield from _bombs(good["oal"])
    yield from _nested()
    yield from _junk()


def _cut(form: str, content: bytes) -> Iterator[tuple[str, str, bytes]]:
    """Cut a file off at places over all of it; a table never just behind a row."""
    end = len(content.rstrip())
    for number in range(1, CUTS):
        place = end * number // CUTS
        while form == "csv" and content[:place].endswith((b"\r", b"\n", b'"')):
            place -= 1
        yield f"{form} cut off after {place} bytes", form, content[:place]


def _miscoded(form: str, text: str) -> Iterator[tuple[str, str, bytes]]:
    content = text.encode()
    for name, junk in (("latin", b"\xfcber"), ("half", b"\xc3"), ("over", b"\xc0\x80")):
        yield f"{form} {name} byte", form, content.replace(b"Garden", junk, 1)
    yield f"{form} half of UTF-16", form, codecs.BOM_UTF16_LE + content[: len(content) // 2]
    yield f"{form} UTF-32", form, text.encode("utf-32")


def _containers(text: str) -> Iterator[tuple[str, str, bytes]]:
    for name in CONTAINERS:
        damaged = text.replace(f"<{name}>", "<gone>").replace(f"</{name}>", "</gone>")
        yield f"oal without {name}", "oal", damaged.encode()


def _bombs(text: str) -> Iterator[tuple[str, str, bytes]]:
    head, _, body = text.partition("\n")
    lol = "".join(
        f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' if n else '<!ENTITY l0 "lol">' for n in range(9)
    )
    types = {
        "bomb": f"<!DOCTYPE x [{lol}]>",
        "outside file": '<!DOCTYPE x [<!ENTITY l8 SYSTEM "file:///etc/passwd">]>',
        "outside address": '<!DOCTYPE x [<!ENTITY l8 SYSTEM "http://localhost:9/x">]>',
        "parameter": '<!DOCTYPE x [<!ENTITY % p SYSTEM "file:///etc/hostname"> %p;]>',
        "outside type": '<!DOCTYPE x SYSTEM "file:///dev/zero">',
        "public type": '<!DOCTYPE x PUBLIC "-//X//EN" "http://localhost:9/x.dtd">',
        "empty type": "<!DOCTYPE x>",
        "attributes": '<!DOCTYPE x [<!ATTLIST target id CDATA "target_1">]>',
        "quadratic": f'<!DOCTYPE x [<!ENTITY l8 "{"a" * 50_000}">]>',
    }
    for name, doctype in types.items():
        damaged = body.replace("M27 Dumbbell Nebula", "&l8;" * 3)
        yield f"oal with {name}", "oal", f"{head}\n{doctype}\n{damaged}".encode()


def _nested() -> Iterator[tuple[str, str, bytes]]:
    for depth in (30, 1_000, 100_000):
        yield f"oal {depth} deep", "oal", b"<a>" * depth + b"</a>" * depth
        yield f"json {depth} deep", "json", b"[" * depth + b"]" * depth
        yield f"json {depth} objects", "json", b'{"a":' * depth + b"1" + b"}" * depth


def _junk() -> Iterator[tuple[str, str, bytes]]:
    noise = bytes((number * number * 7919 + 13) % 251 for number in range(4_000))
    for form in ("oal", "json", "csv"):
        yield f"{form} empty", form, b""
        yield f"{form} blank", form, b" \r\n\t \n"
        yield f"{form} zeros", form, bytes(1_000)
        yield f"{form} noise", form, noise
        yield f"{form} picture", form, b"\x89PNG\r\n\x1a\n" + noise
        yield f"{form} archive", form, b"PK\x03\x04" + noise
        yield f"{form} page", form, b"<!doctype html><html><body>404</body></html>"
        yield f"{form} words", form, b"Dear observer, here is my log: it was cloudy."
        yield f"{form} other JSON", form, json.dumps({"log": [1, 2, 3]}).encode()
        yield f"{form} number", form, b"12345"
        yield f"{form} text", form, b'"text"'
        yield f"{form} null", form, b"null"
