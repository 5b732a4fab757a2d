//! B-rep solids of the parts, by direct construction.

pub mod brep;
