//! How many holes go through a body.

use neckwright::solids::loops::Unpacked;

/// Holes through the body: genus by Euler-Poincaré, V - E + F - (inner wires) = 2 (1 - genus).
pub fn genus(body: &Unpacked) -> i64 {
    let inner: usize = body.faces.iter().map(|face| face.wires.len() - 1).sum();
    let count = |n: usize| n as i64;
    let euler = count(body.vertices.len()) - count(body.edges.len()) + count(body.faces.len())
        - count(inner);
    1 - euler / 2
}
