//! The boundary to JavaScript: one class a question, flat results, one error conversion.
//!
//! Nothing is kept outside the class, and nothing is drawn: a page or a script passes a job in
//! and takes results out. TypeScript types come from the Rust types. Three modules are built of the crate: the
//! page's core, which every visitor waits for, the shop's, which only those load who send something out, and that of the bore,
//! for those who compare two.

#[cfg(feature = "shop")]
mod blanks;
#[cfg(all(feature = "bore", not(feature = "shop")))]
mod bore;
mod handing_over;
#[cfg(not(any(feature = "shop", feature = "bore")))]
mod neck;
#[cfg(feature = "shop")]
mod shop;

#[cfg(feature = "shop")]
pub use blanks::*;
#[cfg(all(feature = "bore", not(feature = "shop")))]
pub use bore::*;
#[cfg(not(any(feature = "shop", feature = "bore")))]
pub use neck::*;
#[cfg(feature = "shop")]
pub use shop::*;
