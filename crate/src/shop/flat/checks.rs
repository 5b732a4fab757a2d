//! What a cutting shop would ask back about an outline, asked before it leaves.

use glam::DVec2;

use crate::geometry::contour::{Contour, Piece};

use super::findings::{CuttingFinding, Question};
use super::layout::{Hole, HoleUse, Layout, trimmed};
use super::limits::CuttingLimits;

/// Ends nearer than this count as joined, mm.
const JOINED: f64 = 1e-6;
/// Arcs are looked at as chords that near, mm, where crossings are sought.
const CHORD: f64 = 0.005;
/// Turn at a corner that counts as smooth, radians: what arcs joined by rounded numbers may differ by.
const SMOOTH: f64 = 0.03;
/// Turn of an arc so small that the jet does not notice its radius, radians.
const NO_TURN: f64 = 0.09;
/// Distance between places from which webs are measured, mm.
const LOOK: f64 = 0.25;
/// Edges that face each other: cosine between the outward directions of both.
const FACING: f64 = -0.7;
/// What a limit is let off, mm: the last digits of sums that meet it exactly.
const ROUNDING: f64 = 1e-6;

/// Holds a layout against the limits. Holes that cannot be pierced are left to the drill.
pub fn all(layout: &mut Layout, limits: &CuttingLimits) -> Vec<CuttingFinding> {
    let thickness = layout.thickness;
    let mut found: Vec<CuttingFinding> =
        layout.holes.iter_mut().filter_map(|hole| hole_found(hole, thickness, limits)).collect();
    found.extend(left_to_the_drill(layout, limits));
    let holes = layout.holes.iter().filter(|hole| hole.cut).map(Hole::circle);
    let cut: Vec<Contour> = layout.outlines.iter().cloned().chain(holes).collect();
    found.extend(cut.iter().filter_map(open_path));
    found.extend(crossing(&cut));
    found.extend(layout.outlines.iter().flat_map(|outline| inside_corners(outline, limits)));
    found.extend(thin_web(layout, limits));
    found.extend(letters(layout, limits));
    found
}

fn finding(
    question: Question,
    place: DVec2,
    found: f64,
    wanted: f64,
    words: String,
) -> CuttingFinding {
    CuttingFinding {
        question,
        place_mm: place.to_array(),
        found_mm: found,
        wanted_mm: wanted,
        words,
        fails: true,
    }
}

/// A hole too small to pierce is left as a centre mark; one that is tapped must be left smaller than its drill; one that
/// something fits into is better reamed.
fn hole_found(hole: &mut Hole, thickness: f64, limits: &CuttingLimits) -> Option<CuttingFinding> {
    let (size, least) = (hole.diameter_mm, limits.least_hole(thickness));
    let told = |question, wanted, words| {
        Some(CuttingFinding { fails: false, ..finding(question, hole.centre, size, wanted, words) })
    };
    if size < least - ROUNDING {
        hole.cut = false;
        return told(
            Question::SmallHole,
            least,
            format!(
                "hole of {} mm is too small to pierce here (at least {} mm): its centre is marked, drill it",
                trimmed(size),
                trimmed(least)
            ),
        );
    }
    match hole.used {
        HoleUse::Tapped(thread) => {
            let most = thread.tap_drill_mm() - limits.tapped_under_mm;
            (size > most + ROUNDING).then(|| {
                finding(
                    Question::TappedHole,
                    hole.centre,
                    size,
                    most,
                    format!(
                        "hole for {} is drawn {} mm wide: cut it {} mm at most, so that the drill of {} mm still finds metal",
                        thread.name(),
                        trimmed(size),
                        trimmed(most),
                        trimmed(thread.tap_drill_mm())
                    ),
                )
            })
        }
        HoleUse::Fitted { gap_mm: (least, greatest) }
            if greatest - least < 2.0 * limits.profile_mm =>
        {
            told(
                Question::FittedHole,
                size,
                format!(
                    "hole of {} mm is drawn at its finished size for a gap of {} to {} mm; the jet holds {} mm: cut it undersize and ream it",
                    trimmed(size),
                    trimmed(least),
                    trimmed(greatest),
                    trimmed(limits.profile_mm)
                ),
            )
        }
        HoleUse::Fitted { .. } | HoleUse::Clear => None,
    }
}

/// Holes that something only passes through, so near an edge that the jet would break out: they are drilled as well at the
/// bench.
fn left_to_the_drill(layout: &mut Layout, limits: &CuttingLimits) -> Vec<CuttingFinding> {
    let least = limits.least_web_mm;
    let mut found = Vec::new();
    for hole in layout.holes.iter_mut().filter(|hole| hole.cut && hole.used == HoleUse::Clear) {
        let edges = layout.outlines.iter().map(|outline| outline.nearest(hole.centre).0);
        let web = edges.fold(f64::INFINITY, f64::min) - hole.diameter_mm / 2.0;
        if web < least - ROUNDING {
            hole.cut = false;
            let words = format!(
                "cutting the hole of {} mm would leave only {web:.2} mm of metal beside it (at least {} mm): its centre is marked, drill it",
                trimmed(hole.diameter_mm),
                trimmed(least)
            );
            let told = finding(Question::ThinWeb, hole.centre, web, least, words);
            found.push(CuttingFinding { fails: false, ..told });
        }
    }
    found
}

fn open_path(contour: &Contour) -> Option<CuttingFinding> {
    let (first, last) = (contour.vertices.first()?, contour.vertices.last()?);
    let gap = first.at.distance(last.at);
    let open = !contour.closed || contour.vertices.len() < 2;
    open.then(|| {
        let words = format!("the path does not close: its ends are {} mm apart", trimmed(gap));
        finding(Question::OpenPath, last.at, gap, 0.0, words)
    })
}

/// The first place at which paths cross or run over each other.
fn crossing(cut: &[Contour]) -> Option<CuttingFinding> {
    // Every chord with the path and the place in it that it belongs to.
    let mut chords: Vec<(usize, usize, DVec2, DVec2)> = Vec::new();
    let mut counts = Vec::new();
    for (path, contour) in cut.iter().enumerate() {
        let points = contour.flattened(CHORD);
        counts.push(points.len());
        let ends = points.iter().zip(points.iter().cycle().skip(1));
        let open = usize::from(!contour.closed);
        chords.extend(
            ends.take(points.len().saturating_sub(open))
                .enumerate()
                .map(|(i, (a, b))| (path, i, *a, *b)),
        );
    }
    chords.sort_by(|a, b| a.2.x.min(a.3.x).total_cmp(&b.2.x.min(b.3.x)));
    for (index, one) in chords.iter().enumerate() {
        let right = one.2.x.max(one.3.x);
        for two in chords.iter().skip(index + 1).take_while(|two| two.2.x.min(two.3.x) <= right) {
            let count = counts.get(one.0).copied().unwrap_or_default();
            let apart = one.1.abs_diff(two.1);
            let neighbours = one.0 == two.0 && (apart <= 1 || apart + 1 >= count);
            if neighbours {
                continue;
            }
            if let Some(place) = meet((one.2, one.3), (two.2, two.3)) {
                let words = "paths cross or touch here: the piece would fall apart".into();
                return Some(finding(Question::Crossing, place, 0.0, 0.0, words));
            }
        }
    }
    None
}

/// Where two chords meet, ends included.
fn meet(one: (DVec2, DVec2), two: (DVec2, DVec2)) -> Option<DVec2> {
    let (along, across) = (one.1 - one.0, two.1 - two.0);
    let turn = along.perp_dot(across);
    let way = two.0 - one.0;
    if turn == 0.0 {
        // Side by side: they meet only where they lie on each other.
        let length = along.length();
        let off = along.perp_dot(way).abs() / length.max(JOINED);
        let at = |point: DVec2| (point - one.0).dot(along) / (length * length).max(JOINED);
        let (low, high) = (at(two.0).min(at(two.1)), at(two.0).max(at(two.1)));
        return (off < JOINED && low <= 1.0 && high >= 0.0).then_some(two.0);
    }
    let (share, other) = (way.perp_dot(across) / turn, way.perp_dot(along) / turn);
    let within = |share: f64| (0.0..=1.0).contains(&share);
    (within(share) && within(other)).then(|| one.0 + along * share)
}

/// Corners of an outline that point into the metal more sharply than the jet can turn.
fn inside_corners(outline: &Contour, limits: &CuttingLimits) -> Vec<CuttingFinding> {
    let least = limits.inside_radius_mm;
    let ccw = outline.area() > 0.0;
    let inward = |turn: f64| if ccw { -turn } else { turn };
    let pieces: Vec<Piece> = outline.pieces().collect();
    let mut found = Vec::new();
    for (piece, next) in pieces.iter().zip(pieces.iter().cycle().skip(1)) {
        if let Some(arc) = piece.arc()
            && inward(arc.sweep) > NO_TURN
            && arc.radius < least - ROUNDING
        {
            found.push(finding(
                Question::InsideCorner,
                piece.point(0.5),
                arc.radius,
                least,
                format!(
                    "inside corner of radius {:.2} mm: the jet leaves {} mm",
                    arc.radius,
                    trimmed(least)
                ),
            ));
        }
        let (from, to) = (piece.direction(true), next.direction(false));
        let turn = libm::atan2(from.perp_dot(to), from.dot(to));
        if inward(turn) > SMOOTH {
            found.push(finding(
                Question::InsideCorner,
                piece.to,
                0.0,
                least,
                format!("sharp inside corner: the jet leaves a radius of {} mm", trimmed(least)),
            ));
        }
    }
    found
}

/// A straight look through the metal from one edge to the next.
struct Web {
    width: f64,
    place: DVec2,
}

/// The thinnest metal between edges that face each other.
fn thin_web(layout: &Layout, limits: &CuttingLimits) -> Option<CuttingFinding> {
    let mut thinnest = Web { width: f64::INFINITY, place: DVec2::ZERO };
    let mut take = |web: Web| {
        if web.width < thinnest.width {
            thinnest = web;
        }
    };
    let cut: Vec<&Hole> = layout.holes.iter().filter(|hole| hole.cut).collect();
    for (i, hole) in cut.iter().enumerate() {
        let reach = hole.diameter_mm / 2.0;
        for outline in &layout.outlines {
            let (distance, near) = outline.nearest(hole.centre);
            take(Web { width: distance - reach, place: (near + hole.centre) / 2.0 });
        }
        for other in cut.iter().skip(i + 1) {
            let distance = hole.centre.distance(other.centre);
            let width = distance - reach - other.diameter_mm / 2.0;
            take(Web { width, place: (hole.centre + other.centre) / 2.0 });
        }
    }
    for outline in &layout.outlines {
        if let Some(web) = narrowest(outline) {
            take(web);
        }
    }
    let (least, safe) = (limits.least_web_mm, limits.safe_web_thicknesses * layout.thickness);
    let Web { width, place } = thinnest;
    if width < least - ROUNDING {
        let words =
            format!("only {width:.2} mm of metal is left here: at least {} mm", trimmed(least));
        return Some(finding(Question::ThinWeb, place, width, least, words));
    }
    (width < safe - ROUNDING).then(|| {
        let words = format!(
            "{width:.2} mm of metal is left here, less than the sheet is thick ({} mm): cut holes first, slowly",
            trimmed(layout.thickness)
        );
        CuttingFinding { fails: false, ..finding(Question::ThinWeb, place, width, safe, words) }
    })
}

/// The narrowest place of an outline, looked for square to its edge every [`LOOK`].
fn narrowest(outline: &Contour) -> Option<Web> {
    let inward = if outline.area() > 0.0 { 1.0 } else { -1.0 };
    let pieces: Vec<Piece> = outline.pieces().collect();
    let mut best: Option<Web> = None;
    for (index, piece) in pieces.iter().enumerate() {
        let steps = (piece.length() / LOOK).ceil().clamp(2.0, 4096.0);
        // Between 2 and 4096.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        for i in 1..steps as u32 {
            let share = f64::from(i) / steps;
            let start = piece.point(share);
            let along = piece.point((share + 0.01).min(1.0)) - piece.point((share - 0.01).max(0.0));
            let into = along.normalize_or_zero().perp() * inward;
            for (other, facing) in pieces.iter().enumerate() {
                if other == index {
                    continue;
                }
                let Some((width, hit, out)) = look(start, into, facing, inward) else { continue };
                let thinner = best.as_ref().is_none_or(|best| width < best.width);
                if thinner && out.dot(-into) < FACING {
                    best = Some(Web { width, place: (start + hit) / 2.0 });
                }
            }
        }
    }
    best
}

/// Where a look from a place meets a piece: how far off, and the piece's outward direction there.
fn look(from: DVec2, into: DVec2, piece: &Piece, inward: f64) -> Option<(f64, DVec2, DVec2)> {
    let outward = |along: DVec2| along.normalize_or_zero().perp() * -inward;
    match piece.arc() {
        None => {
            let along = piece.to - piece.from;
            let turn = into.perp_dot(along);
            let way = piece.from - from;
            let (far, share) = (way.perp_dot(along) / turn, way.perp_dot(into) / turn);
            let meets = turn != 0.0 && far > JOINED && (0.0..=1.0).contains(&share);
            meets.then(|| (far, from + into * far, outward(along)))
        }
        Some(arc) => {
            let way = from - arc.centre;
            let half = way.dot(into);
            let root = half * half - way.length_squared() + arc.radius * arc.radius;
            if root < 0.0 {
                return None;
            }
            [-half - root.sqrt(), -half + root.sqrt()].into_iter().find_map(|far| {
                let hit = from + into * far;
                let on_it = far > JOINED && piece.nearest(hit).distance(hit) < 1e-6;
                on_it.then(|| {
                    let along = (hit - arc.centre).perp() * arc.sweep.signum();
                    (far, hit, outward(along))
                })
            })
        }
    }
}

/// Letters must lie on the metal with a margin, or the graver runs off it.
fn letters(layout: &Layout, limits: &CuttingLimits) -> Option<CuttingFinding> {
    let margin = limits.letter_margin_mm;
    let points = layout.letters.iter().flat_map(|stroke| stroke.vertices.iter().map(|v| v.at));
    let (room, place) = points
        .map(|point| {
            let inside = layout.outlines.iter().any(|outline| holds(outline, point));
            let edge = layout.outlines.iter().map(|outline| outline.nearest(point).0);
            let hole = layout
                .holes
                .iter()
                .map(|hole| hole.centre.distance(point) - hole.diameter_mm / 2.0);
            let room = edge.fold(f64::INFINITY, f64::min);
            let room = hole.fold(if inside { room } else { -room }, f64::min);
            (room, point)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    (room < margin - ROUNDING).then(|| {
        let words = format!(
            "the letters come within {room:.2} mm of an edge (negative: beyond it), at least {} mm: take a shorter serial number or a wider strip",
            trimmed(margin)
        );
        finding(Question::Letters, place, room, margin, words)
    })
}

/// Whether a point lies inside a closed contour.
fn holds(contour: &Contour, point: DVec2) -> bool {
    let points = contour.flattened(CHORD);
    let crossings = points.iter().zip(points.iter().cycle().skip(1)).filter(|(a, b)| {
        (a.y <= point.y) != (b.y <= point.y)
            && a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y) > point.x
    });
    crossings.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use super::*;
    use crate::geometry::contour::Vertex;
    use crate::tables::threads::Thread;

    fn plate(corners: &[(f64, f64)]) -> Layout {
        let points: Vec<DVec2> = corners.iter().map(|(x, y)| DVec2::new(*x, *y)).collect();
        let outlines = vec![Contour::through(&points, true)];
        Layout { thickness: 1.0, outlines, ..Layout::default() }
    }

    fn square() -> Layout {
        plate(&[(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)])
    }

    fn asked(mut layout: Layout) -> Vec<CuttingFinding> {
        all(&mut layout, &CuttingLimits::default())
    }

    fn with_hole(x: f64, diameter: f64, used: HoleUse) -> Layout {
        let holes = vec![Hole::new(DVec2::new(x, 10.0), diameter, used)];
        Layout { holes, ..square() }
    }

    #[test]
    fn a_sound_plate_is_answered_with_nothing() {
        assert_eq!(asked(with_hole(10.0, 4.0, HoleUse::Clear)), []);
    }

    #[test]
    fn open_and_crossing_paths_are_found_where_they_are() {
        let mut open = square();
        open.outlines[0].closed = false;
        let found = asked(open);
        assert_eq!(found[0].question, Question::OpenPath);
        assert_eq!(found[0].place_mm, [0.0, 20.0]);
        assert!((found[0].found_mm - 20.0).abs() < 1e-12);

        let bow = plate(&[(0.0, 0.0), (20.0, 20.0), (20.0, 0.0), (0.0, 20.0)]);
        let found = asked(bow);
        let crossing =
            found.iter().find(|finding| finding.question == Question::Crossing).expect("found");
        assert_eq!(crossing.place_mm, [10.0, 10.0]);

        let found = asked(with_hole(1.0, 4.0, HoleUse::Fitted { gap_mm: (0.0, 9.0) }));
        assert!(
            found.iter().any(|finding| finding.question == Question::Crossing && finding.fails)
        );

        let mut twice = square();
        twice.outlines.push(twice.outlines[0].clone());
        assert!(asked(twice).iter().any(|finding| finding.question == Question::Crossing));
    }

    #[test]
    fn inside_corners_are_held_against_the_jet() {
        let notch = plate(&[
            (0.0, 0.0),
            (20.0, 0.0),
            (20.0, 20.0),
            (10.0, 20.0),
            (10.0, 10.0),
            (0.0, 10.0),
        ]);
        let found = asked(notch.clone());
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].question, found[0].place_mm), (Question::InsideCorner, [10.0, 10.0]));
        // Rounded with the radius the jet leaves it is cut as drawn; with less it is not.
        for (radius, fine) in [(0.5, true), (0.4, false)] {
            let mut rounded = notch.clone();
            let vertices = &mut rounded.outlines[0].vertices;
            let bulge = -libm::tan(FRAC_PI_2 / 4.0);
            vertices[4] = Vertex { at: DVec2::new(10.0, 10.0 + radius), bulge };
            vertices.insert(5, Vertex { at: DVec2::new(10.0 - radius, 10.0), bulge: 0.0 });
            let found = asked(rounded);
            assert_eq!(found.is_empty(), fine, "{found:?}");
            assert!(fine || (found[0].found_mm - 0.4).abs() < 1e-9);
        }
    }

    #[test]
    fn small_holes_and_holes_at_an_edge_are_left_to_the_drill() {
        let mut small = with_hole(10.0, 1.7, HoleUse::Clear);
        let found = all(&mut small, &CuttingLimits::default());
        assert_eq!((found[0].question, found[0].fails), (Question::SmallHole, false));
        assert!(!small.holes[0].cut);
        // In thicker plate a hole of the thickness is the least.
        let mut thick = Layout { thickness: 3.0, ..with_hole(10.0, 2.5, HoleUse::Clear) };
        assert!(!all(&mut thick, &CuttingLimits::default()).is_empty() && !thick.holes[0].cut);

        let mut near = with_hole(2.9, 4.0, HoleUse::Clear);
        let found = all(&mut near, &CuttingLimits::default());
        assert_eq!((found[0].question, found[0].fails), (Question::ThinWeb, false));
        assert!((found[0].found_mm - 0.9).abs() < 1e-9 && !near.holes[0].cut);
    }

    #[test]
    fn webs_are_measured_between_holes_edges_and_edges() {
        let fitted = HoleUse::Fitted { gap_mm: (0.0, 9.0) };
        let found = asked(with_hole(2.9, 4.0, fitted));
        assert_eq!((found.len(), found[0].question, found[0].fails), (1, Question::ThinWeb, true));
        assert!((found[0].found_mm - 0.9).abs() < 1e-9);
        assert_eq!(asked(with_hole(3.0, 4.0, fitted)), [], "the limit itself is kept");
        // A neck of 0.8 mm between two blocks, its corners rounded.
        let neck = plate(&[(0.0, 0.0), (20.0, 0.0), (20.0, 0.8), (0.0, 0.8)]);
        let found = asked(neck);
        assert_eq!((found.len(), found[0].question), (1, Question::ThinWeb));
        assert!((found[0].found_mm - 0.8).abs() < 1e-9);
        // Thinner than the plate, it is said but does not fail.
        let thick = Layout { thickness: 3.0, ..with_hole(4.0, 4.0, fitted) };
        let found = asked(thick);
        assert_eq!((found.len(), found[0].fails), (1, false));
    }

    /// Truth: M3's tap drill of 2.5 mm (ISO 2306), less the quarter millimetre a profile is guaranteed to.
    #[test]
    fn a_tapped_hole_is_cut_smaller_than_its_drill() {
        let tapped = HoleUse::Tapped(Thread::M3);
        let found = asked(with_hole(10.0, 2.5, tapped));
        assert_eq!((found[0].question, found[0].fails), (Question::TappedHole, true));
        assert_eq!(found[0].wanted_mm, 2.25);
        assert_eq!(asked(with_hole(10.0, 2.25, tapped)), []);
    }

    #[test]
    fn a_hole_that_fits_closer_than_the_jet_cuts_is_to_be_reamed() {
        let found = asked(with_hole(10.0, 4.0, HoleUse::Fitted { gap_mm: (0.05, 0.13) }));
        assert_eq!((found[0].question, found[0].fails), (Question::FittedHole, false));
    }

    #[test]
    fn letters_stay_on_the_metal() {
        let line = |from: f64, to: f64| Contour::line(DVec2::new(from, 10.0), DVec2::new(to, 10.0));
        let mut layout = square();
        layout.letters = vec![line(0.3, 19.7)];
        assert_eq!(asked(layout.clone()), []);
        layout.letters = vec![line(1.0, 19.8)];
        let found = asked(layout.clone());
        assert_eq!((found[0].question, found[0].fails), (Question::Letters, true));
        assert!((found[0].found_mm - 0.2).abs() < 1e-9);
        layout.letters = vec![line(1.0, 21.0)];
        assert!((asked(layout)[0].found_mm + 1.0).abs() < 1e-9, "beyond the edge");
    }
}
