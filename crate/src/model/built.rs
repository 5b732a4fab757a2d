//! One part with its solid, and what is measured on it when asked.

use std::sync::OnceLock;

use glam::DVec3;

use crate::checks::SurfaceSamples;
use crate::geometry::distance::DistanceField;
use crate::parts::Part;
use crate::solids::brep::Solid;
use crate::solids::mesh::{SolidMesh, mesh};
use crate::solids::properties::{Properties, bounds, properties};
use crate::solids::{SolidError, build};

/// Chord of the triangles that clearances and boxes start from, mm. Both look finer where it
/// matters; a coarse start is quick.
pub(super) const SEARCH_CHORD: f64 = 0.1;

/// Finest and coarsest chord a caller may ask for, mm.
pub const CHORD_RANGE: (f64, f64) = (0.002, 1.0);

/// Colour of keep-outs, sRGB: grey.
const KEEPOUT_COLOUR: [u8; 3] = [0x9a, 0x9a, 0x94];

/// A part with its solid.
#[derive(Debug)]
pub struct Built {
    pub part: Part,
    pub solid: Solid,
    pub field: DistanceField,
    pub samples: SurfaceSamples,
    pub bounds: (DVec3, DVec3),
    properties: OnceLock<Properties>,
}

impl Built {
    pub(super) fn new(part: Part) -> Result<Self, SolidError> {
        let solid = build(&part.shape)?;
        let coarse = mesh(&solid, SEARCH_CHORD)?;
        let bounds = bounds(&coarse);
        let samples = SurfaceSamples::new(&solid, &coarse)?;
        let field = DistanceField::new(&part.shape);
        Ok(Self { part, solid, field, samples, bounds, properties: OnceLock::new() })
    }

    /// Volume, area and centroid, computed once.
    pub fn properties(&self) -> &Properties {
        self.properties.get_or_init(|| properties(&self.solid))
    }

    /// Triangles at a chord tolerance in millimetres.
    pub fn mesh(&self, chord: f64) -> Result<SolidMesh, SolidError> {
        mesh(&self.solid, chord.clamp(CHORD_RANGE.0, CHORD_RANGE.1))
    }

    /// Colour of the metal, sRGB; a keep-out's is no metal's.
    pub fn colour_srgb(&self) -> [u8; 3] {
        self.part.metal.map_or(KEEPOUT_COLOUR, |metal| metal.colour_srgb())
    }

    /// Mass in grams by the metal's density; 0 for a keep-out.
    pub fn mass_g(&self) -> f64 {
        let density = self.part.metal.map_or(0.0, |metal| metal.density_g_cm3());
        // mm³ to cm³.
        self.properties().volume * density / 1000.0
    }
}
