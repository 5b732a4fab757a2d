//! One part with its solid, and what is measured on it when asked.

use std::ops::Deref;
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
pub(super) const SEARCH_CHORD: f64 = 0.2;

/// Colour of keep-outs, sRGB: grey.
const KEEPOUT_COLOUR: [u8; 3] = [0x9a, 0x9a, 0x94];

/// A part with its solid: all that files are made from.
#[derive(Debug)]
pub struct Formed {
    pub part: Part,
    pub solid: Solid,
    pub bounds: (DVec3, DVec3),
    properties: OnceLock<Properties>,
}

impl Formed {
    /// Builds the solid and divides it into coarse triangles, so that whatever cannot be made fails here and not
    /// when a file is asked for.
    pub(super) fn new(part: Part) -> Result<Self, SolidError> {
        Ok(Self::with_triangles(part)?.0)
    }

    fn with_triangles(part: Part) -> Result<(Self, SolidMesh), SolidError> {
        let solid = build(&part.shape)?;
        let coarse = mesh(&solid, SEARCH_CHORD)?;
        let bounds = bounds(&coarse);
        Ok((Self { part, solid, bounds, properties: OnceLock::new() }, coarse))
    }

    /// Volume, area and centroid, computed once.
    pub fn properties(&self) -> &Properties {
        self.properties.get_or_init(|| properties(&self.solid))
    }

    /// Triangles within a chord in millimetres of the surfaces.
    ///
    /// # Errors
    ///
    /// A face that cannot be divided at this chord.
    pub fn mesh(&self, chord: f64) -> Result<SolidMesh, SolidError> {
        mesh(&self.solid, chord)
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

/// A part of the clearance list: its solid, and what its distances to others are measured by.
#[derive(Debug)]
pub struct Built {
    formed: Formed,
    pub field: DistanceField,
    pub samples: SurfaceSamples,
}

impl Built {
    pub(super) fn new(part: Part) -> Result<Self, SolidError> {
        let (formed, coarse) = Formed::with_triangles(part)?;
        let samples = SurfaceSamples::new(&formed.solid, &coarse)?;
        let field = DistanceField::new(&formed.part.shape);
        Ok(Self { formed, field, samples })
    }
}

/// Whatever can be asked of a formed part can be asked of one in the list.
impl Deref for Built {
    type Target = Formed;

    fn deref(&self) -> &Formed {
        &self.formed
    }
}
