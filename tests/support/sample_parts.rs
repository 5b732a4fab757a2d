//! A few bodies of every kind, with dimensions invented for tests.

use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::Arc;

use glam::{DVec2, DVec3};
use neckwright::geometry::bore::Bore;
use neckwright::geometry::centreline::{Centreline, Course};
use neckwright::geometry::frame::Frame;
use neckwright::geometry::neck::Neck;
use neckwright::geometry::outline::{Outline, Side};
use neckwright::geometry::shape::{
    Azimuth, EdgeHole, HoleEnd, Link, Plate, PlateHole, Post, Radius, Rod, RodPiece, SectionPoint,
    Shape, Sweep, Tube, TubeHole, Turned,
};

fn neck() -> Arc<Neck> {
    Arc::new(Neck {
        centreline: Centreline::new(&[
            Course::Straight { length: 30.0 },
            Course::Bend { bend: FRAC_PI_2, radius: 50.0 },
            Course::Straight { length: 20.0 },
        ]),
        bore: Bore::Cone { entry_radius: 6.0, slope: 0.03 },
        wall: 0.7,
    })
}

/// Tube with the vent's hole: rational surfaces, free rims.
pub fn tube() -> Shape {
    let hole = Some(TubeHole { station: 50.0, radius: 2.3 });
    Shape::Tube(Tube { neck: neck(), from: 0.0, to: 120.0, hole })
}

/// Patch on the tube.
pub fn saddle() -> Shape {
    let corner = |sign: f64, offset| SectionPoint {
        azimuth: Azimuth::Fixed(sign),
        radius: Radius::Bore(offset),
    };
    Shape::Sweep(Sweep {
        neck: neck(),
        from: 60.0,
        to: 72.0,
        points: vec![corner(-1.0, 0.78), corner(1.0, 0.78), corner(1.0, 1.58), corner(-1.0, 1.58)],
        links: vec![
            Link::Arc { growing: true },
            Link::Straight,
            Link::Arc { growing: false },
            Link::Straight,
        ],
    })
}

/// Ring with bore, cone and a rounded edge: cylinder, cone, torus, annuli.
pub fn ring() -> Shape {
    let at = DVec2::new;
    let outline = Outline::new(vec![
        Side::line(at(0.0, 5.0), at(10.0, 5.0)),
        Side::line(at(10.0, 5.0), at(10.0, 7.5)),
        Side::Arc { from: at(10.0, 7.5), centre: at(9.5, 7.5), sweep: FRAC_PI_2 },
        Side::line(at(9.5, 8.0), at(5.0, 8.0)),
        Side::line(at(5.0, 8.0), at(0.0, 7.0)),
        Side::line(at(0.0, 7.0), at(0.0, 5.0)),
    ]);
    Shape::Turned(Turned {
        axis: Frame::from_zx(DVec3::new(1.0, 2.0, 3.0), DVec3::X, DVec3::Y),
        profile: outline,
    })
}

/// Flat arm with a rounded end, a hole through it, and a blind and a through hole in its edges.
pub fn arm() -> Shape {
    let at = DVec2::new;
    let outline = Outline::new(vec![
        Side::line(at(0.0, 0.0), at(30.0, 0.0)),
        Side::Arc { from: at(30.0, 0.0), centre: at(30.0, 4.0), sweep: PI },
        Side::line(at(30.0, 8.0), at(0.0, 8.0)),
        Side::line(at(0.0, 8.0), at(0.0, 0.0)),
    ]);
    Shape::Plate(Plate {
        frame: Frame::from_zx(DVec3::new(0.0, 0.0, 20.0), DVec3::NEG_Y, DVec3::X),
        outline,
        half_thickness: 1.5,
        holes: vec![PlateHole { centre: at(28.0, 4.0), radius: 2.0 }],
        edge_holes: vec![
            EdgeHole { side: 0, entry: at(10.0, 0.0), radius: 0.8, end: HoleEnd::Blind(2.5) },
            EdgeHole { side: 0, entry: at(20.0, 0.0), radius: 0.8, end: HoleEnd::Through(2) },
        ],
    })
}

/// Rod with one bend and turned points.
pub fn rod() -> Shape {
    let corner = DVec3::new(20.0, 0.0, -30.0);
    let axis = DVec3::Y;
    Shape::Rod(Rod {
        path: vec![
            RodPiece::Line { from: DVec3::new(0.0, 0.0, -30.0), to: corner },
            RodPiece::Arc {
                from: corner,
                centre: corner + DVec3::new(0.0, 0.0, -8.0),
                axis,
                sweep: FRAC_PI_2,
            },
            RodPiece::Line { from: DVec3::new(28.0, 0.0, -38.0), to: DVec3::new(28.0, 0.0, -60.0) },
        ],
        radius: 1.4,
        point_length: 5.0,
        tip_radius: 0.4,
    })
}

/// Post coped to the tube.
pub fn post() -> Shape {
    let neck = neck();
    let frame = neck.standing(66.0, 6.3);
    Shape::Post(Post {
        frame: frame.at(frame.origin + DVec3::Y * 4.5),
        radius: 2.1,
        top: 3.0,
        chamfer: 0.4,
        hole_radius: 1.0,
        neck,
        foot_offset: 1.66,
    })
}
