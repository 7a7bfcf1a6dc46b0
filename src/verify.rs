//! Whether what was issued stands: a document by itself.
//!
//! Comes in: the bytes of a document. Goes out: what is wrong with it. Next: [`crate::commands`].

mod document;
mod fault;
mod file;
mod page;
mod pages;
mod read;
mod records;
mod syntax;
mod text;
mod unicode;

pub use document::{Audit, Bench, Extent, document};
pub use fault::{Fault, Note};
pub use read::Unreadable;
