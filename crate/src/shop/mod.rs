//! What leaves the shop: files a cutting shop and a machine shop take without asking back.

pub mod flat;
pub mod heading;
