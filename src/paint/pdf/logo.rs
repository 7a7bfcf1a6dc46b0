//! The firm's logo, made ready to be put into documents.
//!
//! Comes in: a [`Logo`] as read. Goes out: [`Prepared`] objects, or why it cannot be used. Next: [`super::finish`].

mod picture;
mod vectors;

use crate::firm::{Logo, LogoKind};
use lopdf::Stream;

/// A logo as PDF objects in a unit square: a form or an image, with its soft mask.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// Width and height in the logo's own unit.
    pub size: [f64; 2],
    object: Stream,
    mask: Option<Stream>,
}

/// Why a logo cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LogoFault {
    /// It cannot be read at all; what the reader said.
    Unreadable(String),
    /// It uses something that is not painted: `a gradient`.
    Unsupported(&'static str),
    /// It shows nothing.
    Empty,
}

impl Prepared {
    /// The objects of a logo as a document carries them; `size` is its width and height in any unit.
    pub fn of(size: [f64; 2], object: Stream, mask: Option<Stream>) -> Prepared {
        Prepared { size, object, mask }
    }

    /// Puts the objects into a document.
    pub fn put(&self, objects: &mut lopdf::Document) -> lopdf::ObjectId {
        let mut object = self.object.clone();
        if let Some(mask) = &self.mask {
            object.dict.set("SMask", objects.add_object(mask.clone()));
        }
        objects.add_object(object)
    }
}

/// Makes a logo ready.
///
/// # Errors
/// [`LogoFault`] when it cannot be read, shows nothing, or is an SVG that uses what is not painted (gradients, patterns,
/// pictures, letters, masks, filters, blending).
pub fn prepare(logo: &Logo) -> Result<Prepared, LogoFault> {
    match logo.kind {
        LogoKind::Svg => vectors::prepare(&logo.bytes),
        LogoKind::Png => picture::prepare(&logo.bytes),
    }
}
