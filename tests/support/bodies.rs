//! Bodies of every kind that several tests look at, with dimensions invented for tests.

#![allow(dead_code, reason = "every test takes the bodies it looks at")]

use std::f64::consts::PI;
use std::sync::Arc;

use glam::{DVec2, DVec3};
use neckwright::geometry::bore::{Bore, Table};
use neckwright::geometry::centreline::{Centreline, Course};
use neckwright::geometry::frame::Frame;
use neckwright::geometry::neck::Neck;
use neckwright::geometry::outline::{Node, Outline, Side};
use neckwright::geometry::shape::{
    Azimuth, EdgeHole, HoleEnd, Link, Plate, PlateHole, Post, Radius, Rod, RodPiece, SectionPoint,
    Sweep, Tube, TubeHole, Turned,
};

pub const WORLD: Frame = Frame { origin: DVec3::ZERO, x: DVec3::X, y: DVec3::Y, z: DVec3::Z };

pub fn p(x: f64, y: f64) -> DVec2 {
    DVec2::new(x, y)
}

/// Outline of straight sides through the given corners.
pub fn polygon(corners: &[DVec2]) -> Outline {
    let next = corners.iter().cycle().skip(1);
    Outline::new(corners.iter().zip(next).map(|(&from, &to)| Side::line(from, to)).collect())
}

fn neck_with(bore: Bore) -> Arc<Neck> {
    Arc::new(Neck {
        centreline: Centreline::new(&[
            Course::Straight { length: 50.0 },
            Course::Bend { bend: 20f64.to_radians(), radius: 150.0 },
            Course::Bend { bend: 75f64.to_radians(), radius: 48.0 },
            Course::Straight { length: 28.0 },
        ]),
        bore,
        wall: 0.7,
    })
}

pub fn alto() -> Arc<Neck> {
    neck_with(Bore::Cone { entry_radius: 6.15, slope: libm::tan(1.6f64.to_radians()) })
}

/// A neck with a rising bend and a measured bore.
pub fn measured() -> Arc<Neck> {
    let rows = [(0.0, 6.2), (30.0, 6.9), (60.0, 7.9), (95.0, 8.6), (140.0, 10.1), (180.0, 11.0)];
    Arc::new(Neck {
        centreline: Centreline::new(&[
            Course::Straight { length: 40.0 },
            Course::Bend { bend: -12f64.to_radians(), radius: 150.0 },
            Course::Bend { bend: 60f64.to_radians(), radius: 80.0 },
            Course::Straight { length: 30.0 },
        ]),
        bore: Bore::Table(Table::new(&rows)),
        wall: 0.7,
    })
}

pub fn polar(degrees: f64, offset: f64) -> SectionPoint {
    SectionPoint { azimuth: Azimuth::Fixed(degrees.to_radians()), radius: Radius::Bore(offset) }
}

pub const PATCH: [Link; 4] =
    [Link::Arc { growing: true }, Link::Straight, Link::Arc { growing: false }, Link::Straight];

/// A patch over the top of the tube, 60 degrees to each side, between two offsets from the bore.
pub fn patch(neck: Arc<Neck>, stations: (f64, f64), offsets: (f64, f64)) -> Sweep {
    let (low, high) = offsets;
    Sweep {
        neck,
        from: stations.0,
        to: stations.1,
        points: vec![polar(-60.0, low), polar(60.0, low), polar(60.0, high), polar(-60.0, high)],
        links: PATCH.to_vec(),
    }
}

pub fn saddle(neck: Arc<Neck>) -> Sweep {
    patch(neck, (96.0, 108.0), (0.78, 1.58))
}

/// Strip under the tube, 6 mm wide along its middle.
pub fn strip(neck: Arc<Neck>, from: f64, to: f64) -> Sweep {
    let at = Radius::Bore(1.28);
    let corner = |arc: f64, offset: f64| SectionPoint {
        azimuth: Azimuth::Arc { centre: PI, arc, at: at.clone() },
        radius: Radius::Bore(offset),
    };
    Sweep {
        neck,
        from,
        to,
        points: vec![corner(-3.0, 0.78), corner(3.0, 0.78), corner(3.0, 1.78), corner(-3.0, 1.78)],
        links: PATCH.to_vec(),
    }
}

/// Strip on two feet with a bridge between them.
pub fn bridge(neck: Arc<Neck>) -> Sweep {
    let rise = |base: f64| {
        Table::new(&[
            (72.0, base),
            (82.0, base),
            (90.0, base + 3.0),
            (130.0, base + 3.0),
            (138.0, base),
            (148.0, base),
        ])
    };
    let corner = |arc: f64, base: f64| SectionPoint {
        azimuth: Azimuth::Arc { centre: PI, arc, at: Radius::Profile(rise(1.28)) },
        radius: Radius::Profile(rise(base)),
    };
    Sweep {
        neck,
        from: 72.0,
        to: 148.0,
        points: vec![corner(-3.0, 0.78), corner(3.0, 0.78), corner(3.0, 1.78), corner(-3.0, 1.78)],
        links: PATCH.to_vec(),
    }
}

/// Fork with two upright prongs on the top of the tube.
pub fn fork(neck: Arc<Neck>) -> Sweep {
    let on = |azimuth: Azimuth, offset: f64| SectionPoint { azimuth, radius: Radius::Bore(offset) };
    let upright =
        |y: f64| SectionPoint { azimuth: Azimuth::Upright(y), radius: Radius::Bore(14.0) };
    let (near, far) = (1.9, 3.1);
    let (growing, falling) = (Link::Arc { growing: true }, Link::Arc { growing: false });
    Sweep {
        neck,
        from: 148.0,
        to: 152.0,
        points: vec![
            polar(-30.0, 0.78),
            polar(30.0, 0.78),
            polar(30.0, 1.98),
            on(Azimuth::AtY(far), 1.98),
            upright(far),
            upright(near),
            on(Azimuth::AtY(near), 1.98),
            on(Azimuth::AtY(-near), 1.98),
            upright(-near),
            upright(-far),
            on(Azimuth::AtY(-far), 1.98),
            polar(-30.0, 1.98),
        ],
        links: vec![
            growing,
            Link::Straight,
            falling,
            Link::Straight,
            Link::Straight,
            Link::Straight,
            falling,
            Link::Straight,
            Link::Straight,
            Link::Straight,
            falling,
            Link::Straight,
        ],
    }
}

/// Left half of the tube's wall: counter-clockwise with y to the right and the normal up.
pub fn half_shell(neck: Arc<Neck>, to: f64) -> Sweep {
    Sweep {
        neck,
        from: 0.0,
        to,
        points: vec![polar(0.0, 0.7), polar(0.0, 0.0), polar(180.0, 0.0), polar(180.0, 0.7)],
        links: vec![
            Link::Straight,
            Link::Arc { growing: true },
            Link::Straight,
            Link::Arc { growing: false },
        ],
    }
}

pub fn tube(neck: Arc<Neck>, hole: Option<TubeHole>) -> Tube {
    Tube { neck, from: 0.0, to: 165.0, hole }
}

/// Post coped to the saddle, with its hinge hole.
pub fn post(neck: Arc<Neck>) -> Post {
    let standing = neck.standing(102.0, 6.3);
    Post {
        frame: standing.at(standing.origin + DVec3::Y * 6.15),
        radius: 2.1,
        top: 3.0,
        chamfer: 0.4,
        hole_radius: 1.0,
        foot_offset: 0.7 + 0.08 + 0.8 + 0.08,
        neck,
    }
}

/// Ring with every kind of side: bore cone, flats, outside cylinder, chamfer, quarter-round edge.
pub fn ring() -> Turned {
    let profile = Outline::new(vec![
        Side::line(p(0.0, 5.0), p(6.0, 5.5)),
        Side::line(p(6.0, 5.5), p(6.0, 7.0)),
        Side::line(p(6.0, 7.0), p(5.5, 7.5)),
        Side::line(p(5.5, 7.5), p(1.0, 7.5)),
        Side::Arc { from: p(1.0, 7.5), centre: p(1.0, 6.5), sweep: PI / 2.0 },
        Side::line(p(0.0, 6.5), p(0.0, 5.0)),
    ]);
    Turned { axis: WORLD, profile }
}

/// Plate with smooth, round, hollow and straight sides, a hole through it and two from its edges.
pub fn arm() -> Plate {
    let node = |t: f64| Node { t, point: p(t, 0.004 * t * t), slope: p(1.0, 0.008 * t) };
    let outline = Outline::new(vec![
        Side::cubic(vec![node(0.0), node(9.0), node(20.0)]),
        Side::Arc { from: p(20.0, 1.6), centre: p(20.0, 4.8), sweep: PI },
        Side::line(p(20.0, 8.0), p(12.0, 8.0)),
        Side::Arc { from: p(12.0, 8.0), centre: p(10.0, 8.0), sweep: -PI },
        Side::line(p(8.0, 8.0), p(0.0, 8.0)),
        Side::line(p(0.0, 8.0), p(0.0, 0.0)),
    ]);
    Plate {
        frame: WORLD,
        outline,
        half_thickness: 1.5,
        holes: vec![PlateHole { centre: p(20.0, 4.5), radius: 1.5 }],
        edge_holes: vec![
            EdgeHole { side: 2, entry: p(14.0, 8.0), radius: 0.6, end: HoleEnd::Blind(4.0) },
            EdgeHole { side: 5, entry: p(0.0, 6.5), radius: 0.7, end: HoleEnd::Blind(5.0) },
        ],
    }
}

/// Rod with bends in two planes and turned points.
pub fn rod() -> Rod {
    let bend = DVec3::new(10.0, 0.0, 0.0);
    Rod {
        path: vec![
            RodPiece::Line { from: DVec3::ZERO, to: bend },
            RodPiece::Arc {
                from: bend,
                centre: DVec3::new(10.0, 6.0, 0.0),
                axis: DVec3::Z,
                sweep: PI / 2.0,
            },
            RodPiece::Arc {
                from: DVec3::new(16.0, 6.0, 0.0),
                centre: DVec3::new(16.0, 6.0, 5.0),
                axis: DVec3::X,
                sweep: PI / 2.0,
            },
            RodPiece::Line { from: DVec3::new(16.0, 11.0, 5.0), to: DVec3::new(16.0, 11.0, 14.0) },
        ],
        radius: 1.4,
        point_length: 4.0,
        tip_radius: 0.2,
    }
}
