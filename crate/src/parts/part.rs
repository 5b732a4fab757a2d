//! One part of a neck, or a room that must stay free.

use crate::geometry::shape::Shape;
use crate::tables::metals::Metal;

/// A part under its workshop name, placed in the frame of the neck.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Short name that stands in files and lists.
    pub id: &'static str,
    /// Workshop name.
    pub name: &'static str,
    /// What it is made of; none for a keep-out, which is not made.
    pub metal: Option<Metal>,
    /// How it is made.
    pub made_by: &'static str,
    /// Whether it swings with the octave key. Parts that are round about the hinge axis count as fixed.
    pub moves_with_key: bool,
    /// Whether it is not made but only cleared.
    pub keepout: bool,
    /// Its body, key closed.
    pub shape: Shape,
}

impl Part {
    /// A part that stays where it is soldered.
    pub(super) fn fixed(
        id: &'static str,
        name: &'static str,
        metal: Metal,
        made_by: &'static str,
        shape: Shape,
    ) -> Self {
        Self { id, name, metal: Some(metal), made_by, moves_with_key: false, keepout: false, shape }
    }

    /// A part of the key.
    pub(super) fn moving(
        id: &'static str,
        name: &'static str,
        metal: Metal,
        made_by: &'static str,
        shape: Shape,
    ) -> Self {
        Self { moves_with_key: true, ..Self::fixed(id, name, metal, made_by, shape) }
    }

    /// A room of the horn or the mouthpiece.
    pub(super) fn keepout(id: &'static str, name: &'static str, shape: Shape) -> Self {
        Self {
            id,
            name,
            metal: None,
            made_by: "not made, only cleared",
            moves_with_key: false,
            keepout: true,
            shape,
        }
    }
}
