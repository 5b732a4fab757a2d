"""Drawings of turned parts as a reader of PDF sees them, and their figures against printed tables."""

from __future__ import annotations

import json
import re
from pathlib import Path

import exports
import pymupdf
import pytest
from test_shop import folder, packed  # noqa: F401  (the fixture is used by its name)

pytestmark = pytest.mark.xdist_group("shop")

TURNED = ("tenon", "end_ring", "vent", "post_left", "post_right", "hinge_tube", "hinge_screw", "pad_cup")
STYLES = ((), ("--projection", "third_angle", "--units", "both", "--paper", "letter"), ("--units", "inches"))
POINTS_PER_MM = 72 / 25.4

# ISO 286-2: standard tolerances in micrometres by the greatest size of each band (printed tables; up to 3 mm from memory).
# IT8 of 3 to 6 mm is 18: one page prints 19 and is wrong.
BANDS = (3, 6, 10, 18, 30)
IT = {6: (6, 8, 9, 11, 13), 7: (10, 12, 15, 18, 21), 8: (14, 18, 22, 27, 33)}
# ISO 2306 (metric) and drill and tap chart (unified, the 0.0785 in of #47): drill for each thread, mm.
TAP_DRILLS = {"M1.6": 1.25, "M2": 1.6, "M2.2": 1.75, "3-48": 0.0785 * 25.4}


def grade(it: int, nominal: float) -> float:
    return next(um for top, um in zip(BANDS, IT[it]) if nominal <= top) / 1000


def given(job: str) -> dict:
    return json.loads((exports.ROOT / "examples" / "jobs" / f"{job}.json").read_text())


@pytest.fixture(params=STYLES, ids=("mm", "both", "inches"))
def drawings(request, job_name, folder) -> Path:  # noqa: F811
    return packed(job_name, folder, *request.param).with_suffix("") / "drawings"


def text_of(path: Path) -> str:
    with pymupdf.open(path) as pages:
        return pages[0].get_text()


def scale_of(path: Path) -> float:
    (up, down) = re.search(r"scale\s+([\d.]+):([\d.]+)", text_of(path)).groups()
    return float(up) / float(down)


def segments(page) -> list[tuple[pymupdf.Point, pymupdf.Point]]:
    found = []
    for drawing in page.get_drawings():
        for item in drawing["items"]:
            if item[0] == "l":
                found.append((item[1], item[2]))
            elif item[0] == "c":
                found.append((item[1], item[4]))
            elif item[0] == "re":
                corners = item[1]
                ends = [corners.tl, corners.tr, corners.br, corners.bl]
                found += list(zip(ends, ends[1:] + ends[:1]))
    return found


def meets(box: pymupdf.Rect, one: pymupdf.Point, two: pymupdf.Point) -> bool:
    """Whether a line passes through a box (clipped edge by edge)."""
    low, high = 0.0, 1.0
    for start, way, least, most in (
        (one.x, two.x - one.x, box.x0, box.x1),
        (one.y, two.y - one.y, box.y0, box.y1),
    ):
        if abs(way) < 1e-9:
            if not least <= start <= most:
                return False
            continue
        a, b = sorted(((least - start) / way, (most - start) / way))
        low, high = max(low, a), min(high, b)
    return low <= high


def test_every_turned_part_is_drawn(job_name, folder):  # noqa: F811
    drawn = packed(job_name, folder).with_suffix("") / "drawings"
    assert {path.name for path in drawn.iterdir()} == {f"{part}.{kind}" for part in TURNED for kind in ("pdf", "svg")}


def test_a_drawing_says_what_it_is(job_name, drawings):
    order = given(job_name)["order"]
    for part in TURNED:
        with pymupdf.open(drawings / f"{part}.pdf") as pages:
            assert pages.page_count == 1 and not pages.is_repaired
            page = pages[0]
            width, height = (side / POINTS_PER_MM for side in (page.rect.width, page.rect.height))
            assert (width, height) in (pytest.approx((297, 210), abs=0.01), pytest.approx((279.4, 215.9), abs=0.01))
            text = page.get_text()
            fonts = {font[3] for font in page.get_fonts()}
        assert fonts == {"Helvetica"}
        for words in (order["number"], order["serial"], part, "general tolerance", "ISO 2768-f", "material", "scale"):
            assert words in text, (part, words)
        assert "first angle" in text or "third angle" in text


def test_words_stand_clear_of_lines_and_on_the_page(drawings):
    for part in TURNED:
        with pymupdf.open(drawings / f"{part}.pdf") as pages:
            page = pages[0]
            border = page.rect + (28, 28, -28, -28)
            spans = [
                (span, line["dir"])
                for block in page.get_text("dict")["blocks"]
                for line in block.get("lines", [])
                for span in line["spans"]
                if span["text"].strip()
            ]
            drawn = segments(page)
            for span, direction in spans:
                box = pymupdf.Rect(span["bbox"])
                assert border.contains(box), (part, span["text"])
                # The box reaches from ascender to descender; letters fill its middle.
                size, along = span["size"], 0.3
                if abs(direction[0]) > 0.5:
                    base = span["origin"][1]
                    box = pymupdf.Rect(box.x0 + along, base - 0.70 * size, box.x1 - along, base - 0.02 * size)
                else:
                    base = span["origin"][0]
                    box = pymupdf.Rect(base - 0.70 * size, box.y0 + along, base - 0.02 * size, box.y1 - along)
                crossed = [line for line in drawn if meets(box, *line)]
                assert not crossed, (part, span["text"], crossed[:3])


def dimension_lines(page, upright: bool) -> list[tuple[pymupdf.Point, pymupdf.Point]]:
    return [
        (a, b)
        for a, b in segments(page)
        if (abs(a.x - b.x) if upright else abs(a.y - b.y)) < 0.01 and abs(a - b) > 6
    ]


@pytest.mark.parametrize(("part", "field"), [("hinge_tube", ("hinge", "tube_length_mm")), ("tenon", ("tenon", "length_mm"))])
def test_a_dimension_measures_what_it_says(job_name, folder, part, field):  # noqa: F811
    """The line under a figure is the figure times the scale long, to a hundredth of a millimetre on paper."""
    file = packed(job_name, folder).with_suffix("") / "drawings" / f"{part}.pdf"
    says = given(job_name)[field[0]][field[1]]
    with pymupdf.open(file) as pages:
        page = pages[0]
        found = [
            span
            for block in page.get_text("dict")["blocks"]
            for line in block.get("lines", [])
            for span in line["spans"]
            if re.fullmatch(rf"{says:g}( h7 .*)?", span["text"])
        ]
        assert found
        lengths = []
        for span in found:
            x, y = (span["bbox"][0] + span["bbox"][2]) / 2, span["origin"][1]
            for a, b in dimension_lines(page, upright=False):
                if 0 < a.y - y < 2 * POINTS_PER_MM and min(a.x, b.x) < x < max(a.x, b.x):
                    lengths.append(abs(a - b) / POINTS_PER_MM)
    wanted = says * scale_of(file)
    assert any(abs(length - wanted) < 0.01 for length in lengths), (lengths, wanted)


def test_the_tenon_is_drawn_at_its_scale(job_name, folder):  # noqa: F811
    """The sleeve's edge line on paper is its length times the scale, whatever is written beside it."""
    job = given(job_name)["tenon"]
    file = packed(job_name, folder).with_suffix("") / "drawings" / "tenon.pdf"
    with pymupdf.open(file) as pages:
        level = dimension_lines(pages[0], upright=False)
    wanted = (job["length_mm"] - job["chamfer_mm"]) * scale_of(file)
    assert any(abs(abs(a - b) / POINTS_PER_MM - wanted) < 0.01 for a, b in level)


def figure(mm: float, places: int = 3) -> str:
    return f"{mm:.{places}f}".rstrip("0").rstrip(".")


def test_limits_are_those_of_iso_286(job_name, folder):  # noqa: F811
    drawn = packed(job_name, folder).with_suffix("") / "drawings"
    job = given(job_name)
    outside = job["tenon"]["outer_diameter_mm"]
    assert f"\u00d8{figure(outside)} h6 (0/-{figure(grade(6, outside))})" in text_of(drawn / "tenon.pdf")
    screw = job["hinge"]["screw_diameter_mm"]
    assert f"\u00d8{figure(screw)} h6 (0/-{figure(grade(6, screw))})" in text_of(drawn / "hinge_screw.pdf")
    bore = screw + 2 * job["hinge"]["radial_clearance_mm"]
    running = f"\u00d8{figure(bore)} H7 (+{figure(grade(7, bore))}/0)"
    assert running in text_of(drawn / "hinge_tube.pdf")
    clear = "left" if job["posts"]["screw_head_side"] == "left" else "right"
    assert running in text_of(drawn / f"post_{clear}.pdf")
    length = job["hinge"]["tube_length_mm"]
    assert f"{figure(length)} h7 (0/-{figure(grade(7, length))})" in text_of(drawn / "hinge_tube.pdf")
    vent = job["vent"]["bore_mm"]
    assert f"\u00d8{figure(vent)} H8 (+{figure(grade(8, vent))}/0)" in text_of(drawn / "vent.pdf")
    # Soldered bores: the job's least and greatest gap, on the diameter.
    gap = job["limits"]
    up, down = (2 * (gap[f"joint_gap_{end}_mm"] - gap["joint_gap_mm"]) for end in ("max", "min"))
    assert f"(+{figure(up)}/{figure(down)})" in text_of(drawn / "end_ring.pdf")


def test_tap_drills_are_those_of_the_tables(job_name, folder):  # noqa: F811
    drawn = packed(job_name, folder).with_suffix("") / "drawings"
    job = given(job_name)
    thread = job["hinge"]["thread"]
    tapped = "right" if job["posts"]["screw_head_side"] == "left" else "left"
    text = text_of(drawn / f"post_{tapped}.pdf")
    assert thread in text and f"\u00d8{figure(TAP_DRILLS[thread], 2)} drill" in text
    assert thread in text_of(drawn / "hinge_screw.pdf")
    arm = packed(job_name, folder).with_suffix("") / "flat" / "key_arm.dxf"
    thread = job["spring_screw"]["thread"]
    assert thread in arm.read_text()


def test_inches_stand_beside_millimetres(folder):  # noqa: F811
    both = packed("alto", folder, *STYLES[1]).with_suffix("") / "drawings"
    outside = given("alto")["tenon"]["outer_diameter_mm"]
    text = text_of(both / "tenon.pdf")
    assert f"[{outside / 25.4:.4f} (0/-{0.013 / 25.4:.5f})]" in text and "third angle" in text
    inches = packed("alto", folder, *STYLES[2]).with_suffix("") / "drawings"
    assert f"\u00d8{outside / 25.4:.4f} h6" in text_of(inches / "tenon.pdf")


def test_the_end_view_changes_with_the_projection(folder):  # noqa: F811
    """Seen from the left, the first-angle view shows the collar and the socket; from the right the sleeve and the bore."""

    def circles(*style: str) -> set[float]:
        file = packed("alto", folder, *style).with_suffix("") / "drawings" / "tenon.pdf"
        found = set()
        with pymupdf.open(file) as pages:
            for drawing in pages[0].get_drawings():
                # An eighth of a circle each.
                if len(drawing["items"]) == 8 and all(item[0] == "c" for item in drawing["items"]):
                    found.add(round(drawing["rect"].width / POINTS_PER_MM / scale_of(file), 2))
        return {size for size in found if size > 10}

    job = given("alto")["tenon"]
    first, third = circles(), circles("--projection", "third_angle")
    assert job["collar_diameter_mm"] in first & third
    assert job["outer_diameter_mm"] in third and job["outer_diameter_mm"] not in first


def test_svg_is_the_page_in_millimetres(job_name, folder):  # noqa: F811
    drawn = packed(job_name, folder).with_suffix("") / "drawings"
    for part in TURNED:
        text = (drawn / f"{part}.svg").read_text()
        assert 'width="297mm" height="210mm" viewBox="0 0 297 210"' in text
        with pymupdf.open(drawn / f"{part}.svg") as shown, pymupdf.open(drawn / f"{part}.pdf") as printed:
            seen, wanted = (len(pages[0].get_drawings()) for pages in (shown, printed))
        assert abs(seen - wanted) <= 0.1 * wanted + 3
