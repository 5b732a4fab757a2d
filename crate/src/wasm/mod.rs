//! The boundary to JavaScript: one class a question, flat results, one error conversion.
//!
//! Nothing is kept outside the class, and nothing is drawn: a page or a script passes a job in
//! and takes results out. TypeScript types come from the Rust types. Two modules are built of the crate: the
//! page's core, which every visitor waits for, and the shop's, which only those load who send something out.

#[cfg(feature = "shop")]
mod blanks;
mod handing_over;
#[cfg(not(feature = "shop"))]
mod neck;
#[cfg(feature = "shop")]
mod shop;

#[cfg(feature = "shop")]
pub use blanks::*;
#[cfg(not(feature = "shop"))]
pub use neck::*;
#[cfg(feature = "shop")]
pub use shop::*;
