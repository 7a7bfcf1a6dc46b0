//! A document painted: as PDF, as HTML.
//!
//! Comes in: a [`crate::document::Document`]. Goes out: the bytes of a file. Next: [`crate::issue`], which writes them.

pub mod colours;
pub mod fonts;
pub mod html;
pub mod marks;
pub mod pdf;
mod shaping;
mod short;
mod texts;

pub use colours::colour;
pub use texts::Paintable;
