//! Bodies swept along the tube: a closed section profile carried along the stations.

use std::sync::Arc;

use glam::DVec2;

use crate::geometry::bore::Table;
use crate::geometry::neck::Neck;

/// A body whose cut at every station between `from` and `to` is the profile at that station.
///
/// The profile is a closed loop of points with links between each and the next (the last back
/// to the first), lying in the section plane: y to the player's left, n along the in-plane
/// normal, the centreline at the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    pub neck: Arc<Neck>,
    pub from: f64,
    pub to: f64,
    /// Corners of the profile. Order: positive area in the (y, n) plane, i.e.
    /// counter-clockwise with y as first and n as second axis.
    pub points: Vec<SectionPoint>,
    /// `links[i]` joins `points[i]` to `points[i + 1]` (the last to the first).
    pub links: Vec<Link>,
}

/// How neighbouring corners of a profile are joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Link {
    Straight,
    /// Arc about the centreline, at most half a turn; both corners have the same radius.
    /// `growing` says that it runs towards growing azimuth (as on the inner side of a patch).
    Arc {
        growing: bool,
    },
}

/// A corner of a section profile, as a function of station.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionPoint {
    pub azimuth: Azimuth,
    pub radius: Radius,
}

/// Where round the tube a corner lies. Azimuth 0 is the top, positive towards +Y.
#[derive(Clone, Debug, PartialEq)]
pub enum Azimuth {
    /// At a fixed azimuth, radians.
    Fixed(f64),
    /// At `centre` (radians) plus `arc` millimetres (signed) measured round at radius `at`:
    /// a strip keeps its developed width.
    Arc { centre: f64, arc: f64, at: Radius },
    /// On the upper half of the section at a fixed y (mm): azimuth asin(y / radius).
    AtY(f64),
    /// Not on a circle: at the fixed y (mm), with the radius measured along n instead of
    /// outward: the corner is (y, n = radius).
    Upright(f64),
}

/// How far from the centreline a corner lies.
#[derive(Clone, Debug, PartialEq)]
pub enum Radius {
    /// Bore radius plus an offset, mm.
    Bore(f64),
    /// Bore radius plus an offset that changes with station.
    Profile(Table),
    /// A fixed radius, mm.
    Fixed(f64),
}

/// Value of a function of station with its slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    pub value: f64,
    pub slope: f64,
}

impl Radius {
    /// Radius and slope at a station.
    pub fn at(&self, neck: &Neck, station: f64) -> Rate {
        let (bore, taper) = neck.bore.radius_slope(station);
        match self {
            Self::Bore(offset) => Rate { value: bore + offset, slope: taper },
            Self::Profile(table) => {
                let (offset, slope) = table.value_slope(station);
                Rate { value: bore + offset, slope: taper + slope }
            }
            Self::Fixed(radius) => Rate { value: *radius, slope: 0.0 },
        }
    }

    /// Stations where the offset changes its law.
    pub fn breaks(&self) -> Vec<f64> {
        match self {
            Self::Profile(table) => table.breaks().collect(),
            Self::Bore(_) | Self::Fixed(_) => Vec::new(),
        }
    }
}

impl SectionPoint {
    /// The corner in the section plane (y, n) and its derivative by station.
    pub fn at(&self, neck: &Neck, station: f64) -> (DVec2, DVec2) {
        let radius = self.radius.at(neck, station);
        if let Azimuth::Upright(y) = self.azimuth {
            return (DVec2::new(y, radius.value), DVec2::new(0.0, radius.slope));
        }
        let angle = self.angle(neck, station);
        let (sin, cos) = libm::sincos(angle.value);
        let out = DVec2::new(sin, cos);
        let round = DVec2::new(cos, -sin);
        (out * radius.value, out * radius.slope + round * (radius.value * angle.slope))
    }

    /// Azimuth and its slope at a station.
    pub fn angle(&self, neck: &Neck, station: f64) -> Rate {
        match &self.azimuth {
            Azimuth::Fixed(angle) => Rate { value: *angle, slope: 0.0 },
            Azimuth::Arc { centre, arc, at } => {
                let radius = at.at(neck, station);
                Rate {
                    value: centre + arc / radius.value,
                    slope: -arc * radius.slope / (radius.value * radius.value),
                }
            }
            Azimuth::AtY(y) => {
                let radius = self.radius.at(neck, station);
                let sin = (y / radius.value).clamp(-0.999, 0.999);
                Rate {
                    value: libm::asin(sin),
                    slope: -sin * radius.slope / (radius.value * (1.0 - sin * sin).sqrt()),
                }
            }
            Azimuth::Upright(y) => {
                let radius = self.radius.at(neck, station);
                let square = y * y + radius.value * radius.value;
                Rate { value: libm::atan2(*y, radius.value), slope: -y * radius.slope / square }
            }
        }
    }
}

impl Sweep {
    /// Stations where any of the profile's functions changes its law, ends included, and those
    /// at which the centreline's curvature jumps.
    pub fn breaks(&self) -> (Vec<f64>, Vec<f64>) {
        let (mut all, jumps) = self.neck.breaks(self.from, self.to);
        for point in &self.points {
            all.extend(point.radius.breaks());
            if let Azimuth::Arc { at, .. } = &point.azimuth {
                all.extend(at.breaks());
            }
        }
        all.retain(|s| *s >= self.from && *s <= self.to);
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        (all, jumps)
    }
}
