"""What leaves the shop: the package as those see it who receive it."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zipfile
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree

import exports
import kernel
import numpy as np
import pymupdf
import pytest
import trimesh
from test_parts import DENSITY

pytestmark = pytest.mark.xdist_group("shop")

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
LISTS = {"packing_list.csv", "packing_list.pdf"}
# Names that other programs rely on, beside which the folder says what is in them; all others carry order and serial number.
FIXED = re.compile(r"(flat/\w+\.(dxf|svg)|drawings/\w+\.(pdf|svg))")
CHORD_MM = 0.01


@lru_cache
def packed(job: str, folder: Path, *options: str) -> Path:
    """A job's package, laid out in a folder. Whatever fails on a part is sent all the same."""
    out = folder / f"{job}_{hashlib.sha256(repr(options).encode()).hexdigest()[:8]}.zip"
    done = exports.send_out(exports.ROOT / "examples" / "jobs" / f"{job}.json", out, "--force", *options)
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(out) as package:
        assert package.testzip() is None
        package.extractall(out.with_suffix(""))
    return out


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("shop")


@pytest.fixture
def package(job_name, folder) -> Path:
    return packed(job_name, folder)


def rows(package: Path) -> list[dict]:
    text = (package.with_suffix("") / "packing_list.csv").read_bytes().decode()
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_list_names_every_file_with_its_hash(package):
    with zipfile.ZipFile(package) as archive:
        names = archive.namelist()
        assert len(names) == len(set(names)) and LISTS <= set(names)
        listed = {row["file"]: row["sha256"] for row in rows(package)}
        assert len(listed) == len(rows(package))
        assert set(listed) == set(names) - LISTS
        for name, digest in listed.items():
            assert hashlib.sha256(archive.read(name)).hexdigest() == digest, name
        # No clock: the first moment the format can tell.
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_names_speak(job_name, package):
    order = exports.job(job_name)["order"]
    stem = f"{order['number']}_{order['serial']}_"
    for row in rows(package):
        name = row["file"].rsplit("/", 1)[-1]
        assert row["part"] == "neck" or row["part"] in name
        assert FIXED.fullmatch(row["file"]) or name.startswith(stem), name
        if name.endswith(".stl"):
            assert "_mm" in name, "the format carries no unit"
    kinds = {row["file"].rsplit(".", 1)[-1] for row in rows(package)}
    assert kinds == {"step", "stl", "3mf", "dxf", "svg", "pdf"}


def test_every_turned_and_every_sheet_part_has_its_sheet(job_name, package):
    """What the maker's own word for how a part is made asks for."""
    files = {row["file"] for row in rows(package)}
    summary = exports.summary(job_name)
    for part, row in summary.items():
        drawn = {f"drawings/{part}.pdf", f"drawings/{part}.svg"}
        if row["made_by"].startswith("turned") or part == "hinge_tube":
            assert drawn <= files, part
        laid = {f"flat/{part}.dxf", f"flat/{part}.svg"}
        if part in {"brace", "saddle", "key_arm", "badge", "spring", "guide"}:
            assert laid <= files, part
    assert {"tenon", "end_ring", "vent", "post_left", "brace", "key_arm"} <= set(summary)


def test_the_list_says_what_each_part_is(job_name, package):
    summary = exports.summary(job_name)
    seen = set()
    for row in rows(package):
        if row["part"] == "neck":
            continue
        seen.add(row["part"])
        part = summary[row["part"]]
        assert row["name"] == part["name"] and row["metal"] == part["metal"] and row["quantity"] == "1"
        assert row["temper"] and row["made_by"] == part["made_by"]
        assert float(row["mass_g"]) == pytest.approx(part["mass_g"], abs=1e-4)
    assert seen == set(summary)


def test_masses_and_thicknesses_hold_against_the_solids(job_name, package):
    """Mass: the kernel's own volume by handbook density. Thickness: twice the volume by the area of a thin body less its
    rim comes near it, so a slip of unit or of part would show."""
    looked_at = 0
    for row in rows(package):
        if not row["file"].startswith("step/") or row["part"] not in {"tenon", "saddle", "badge", "brace", "post_left"}:
            continue
        measures = kernel.measures(kernel.read_step(package.with_suffix("") / row["file"]).shape)
        least, greatest = DENSITY[row["metal"]]
        # The list is rounded to a tenth of a milligram.
        assert least * (1 - 1e-3) <= float(row["mass_g"]) / measures.volume * 1000 <= greatest * (1 + 1e-3)
        if row["thickness_mm"]:
            assert float(row["thickness_mm"]) == pytest.approx(2 * measures.volume / measures.area, rel=0.35)
        looked_at += 1
    assert looked_at >= 4


def test_step_files_read_without_a_message_and_say_whose_they_are(job_name, package):
    order = exports.job(job_name)["order"]
    for row in rows(package):
        if not row["file"].endswith(".step"):
            continue
        path = package.with_suffix("") / row["file"]
        head = path.read_text().split("ENDSEC;")[0]
        assert f"FILE_NAME('{path.name}'" in head
        assert f"Neck {order['number']} serial {order['serial']} revision {order['revision']}" in head
        assert "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF" in head
        assert kernel.read_step(path).messages == (), row["file"]


def test_ap214_reads_as_well_and_says_the_same(folder):
    new, old = (packed("alto", folder, "--step", step).with_suffix("") for step in ("ap242", "ap214"))
    (path,) = old.glob("*_assembly.step")
    assert "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }" in path.read_text()
    assert kernel.read_step(path).messages == ()
    ours, theirs = kernel.read_assembly(path), kernel.read_assembly(new / path.name)
    assert ours.name == theirs.name and ours.said.volume == theirs.said.volume
    assert [(p.name, p.instance_name, p.material, p.colour_srgb, p.at_origin) for p in ours.components] == [
        (p.name, p.instance_name, p.material, p.colour_srgb, p.at_origin) for p in theirs.components
    ]
    assert len(ours.components) == len(exports.summary("alto"))
    for path in sorted((old / "step").glob("*.step")):
        assert kernel.read_step(path).messages == (), path.name


def test_the_neck_in_3mf(job_name, package):
    """Names, unit, closed bodies and their volumes by a mesh library, which passes over colours: those are looked for in
    the text and held against what the kernel reads in the STEP file."""
    (path,) = package.with_suffix("").glob("*.3mf")
    scene = trimesh.load(path)
    summary = exports.summary(job_name)
    assert scene.units == "millimeter"
    assert set(scene.geometry) == {row["name"] for row in summary.values()}
    for row in summary.values():
        mesh = scene.geometry[row["name"]]
        assert mesh.is_watertight and mesh.is_winding_consistent
        assert abs(mesh.volume - row["volume_mm3"]) <= CHORD_MM * mesh.area, row["id"]
        assert np.abs(mesh.bounds - np.array(row["bbox_mm"])).max() <= CHORD_MM + 0.01, row["id"]
    with zipfile.ZipFile(path) as archive:
        assert archive.namelist()[:2] == ["[Content_Types].xml", "_rels/.rels"]
        model = ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    assert model.get("unit") == "millimeter"
    bases = model.findall(f".//{CORE}base")
    (assembly,) = package.with_suffix("").glob("*_assembly.step")
    coloured = {part.name: part.colour_srgb for part in kernel.read_assembly(assembly).components}
    objects = model.findall(f".//{CORE}object")
    assert len(objects) == len(summary) == len(model.findall(f".//{CORE}item"))
    for thing in objects:
        base = bases[int(thing.get("pindex"))].get("displaycolor")
        assert base == "#" + "".join(f"{round(255 * value):02X}" for value in coloured[thing.get("name")])
        assert summary[thing.get("partnumber")]["name"] == thing.get("name")


def test_the_list_on_paper_holds_every_row(package):
    with pymupdf.open(package.with_suffix("") / "packing_list.pdf") as pages:
        assert all(page.rect.width == pytest.approx(210 / 25.4 * 72, abs=0.01) for page in pages)
        text = "".join(page.get_text() for page in pages)
        # Nothing stands off the page.
        for page in pages:
            for word in page.get_text("words"):
                assert page.rect.contains(pymupdf.Rect(word[:4])), word
    for row in rows(package):
        assert row["sha256"] in text and row["file"] in text and row["name"] in text
        for finding in filter(None, row["findings"].split("; ")):
            assert re.sub(r"\s+", "", finding) in re.sub(r"\s+", "", text)


def test_stl_headers_say_the_chord(package):
    for path in (package.with_suffix("") / "stl").glob("*.stl"):
        assert b"chord error 0.01 mm" in path.read_bytes()[:80]


def test_a_batch_of_some_parts_of_another_metal(folder):
    options = ("--parts", "bracex3,post_left", "--necks", "4", "--metal", "brace=C51000", "--thickness", "brace=1.2")
    package = packed("alto", folder, *options, "--temper", "brace=half_hard")
    found = {row["part"]: row for row in rows(package)}
    assert set(found) == {"brace", "post_left", "neck"}
    brace = found["brace"]
    assert (brace["quantity"], brace["metal"], brace["thickness_mm"]) == ("12", "C51000", "1.2")
    assert "H02" in brace["temper"]
    assert (found["post_left"]["quantity"], found["post_left"]["thickness_mm"]) == ("4", "")
    assert float(brace["total_mass_g"]) == pytest.approx(12 * float(brace["mass_g"]), abs=12e-4)
    (step,) = (package.with_suffix("") / "step").glob("*brace.step")
    (part,) = kernel.read_assembly(step).components
    assert part.material.name == "C51000"
    volume = kernel.measures(part.shape).volume
    least, greatest = DENSITY["C51000"]
    assert least * 0.999 <= float(brace["mass_g"]) / volume * 1000 <= greatest * 1.001
    # Thicker sheet makes the part heavier by as much.
    before = exports.summary("alto")["brace"]["volume_mm3"]
    assert volume / before == pytest.approx(1.2 / exports.job("alto")["brace"]["thickness_mm"], rel=0.03)


def test_the_same_request_gives_the_same_bytes(folder):
    again = folder / "again.zip"
    assert exports.send_out(exports.ROOT / "examples/jobs/alto.json", again, "--force").returncode == 0
    assert again.read_bytes() == packed("alto", folder).read_bytes()


def test_what_fails_a_check_is_sent_only_by_saying_so(folder, tmp_path):
    job = exports.ROOT / "examples" / "jobs" / "alto_clash.json"
    done = exports.send_out(job, tmp_path / "out.zip", "--parts", "tenon,badge")
    assert done.returncode == 1 and "badge" in done.stderr and "--force" in done.stderr
    assert list(tmp_path.iterdir()) == []
    # What does not fail goes out without it.
    assert exports.send_out(job, tmp_path / "tenon.zip", "--parts", "tenon").returncode == 0
    found = {row["part"]: row["findings"] for row in rows(packed("alto_clash", folder))}
    failing = {
        side for row in exports.clearances("alto_clash") if not row["ok"] for side in (row["a"], row["b"])
    } & set(found)
    assert failing and all("needs" in found[part] for part in failing)
    assert found["tenon"] == "" and "badge" in found["neck"]


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--parts", "bracex0,tenonx-1,nosuch,receiver,saddlex1.5"], ["quantity", "nosuch", "receiver", "1.5"]),
        (["--parts", "brace,brace"], ["asked for in parts[0] already"]),
        (["--parts", "brace", "--metal", "brace=C36000"], ["parts[0].metal", "not sold"]),
        (["--parts", "brace", "--thickness", "brace=0.03"], ["parts[0].thickness_mm", "0.4 to 4 mm"]),
        (["--parts", "brace", "--metal", "brace=gold", "--step", "ap203"], ["gold", "ap203"]),
        (["--parts", "tenon", "--thickness", "tenon=2"], ["not made from sheet"]),
        (["--name", "a/b"], ["No file name may hold"]),
        (["--name", ""], ["It is empty"]),
        (["--necks", "0"], ["necks is 0"]),
        (["--nonsense", "1"], ["there is no option"]),
    ],
)
def test_a_bad_request_leaves_nothing(options, told, tmp_path):
    done = exports.send_out(exports.ROOT / "examples/jobs/alto.json", tmp_path / "out.zip", *options)
    assert done.returncode == 2
    assert all(words in done.stderr for words in told), done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_bad_place_or_order_leaves_nothing(tmp_path):
    alto = exports.ROOT / "examples/jobs/alto.json"
    assert exports.send_out(alto, tmp_path / "a?.zip").returncode == 2
    assert exports.send_out(alto, tmp_path / "no_such_folder" / "a.zip").returncode == 2
    assert exports.send_out(alto, tmp_path).returncode == 2
    job = json.loads(alto.read_text())
    job["order"]["number"] = "2026/14"
    changed = tmp_path / "job.json"
    changed.write_text(json.dumps(job))
    done = exports.send_out(changed, tmp_path / "a.zip")
    assert done.returncode == 2 and "order.number" in done.stderr
    assert list(tmp_path.iterdir()) == [changed]
