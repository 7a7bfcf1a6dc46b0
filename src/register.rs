//! The register: what was issued, line by line in a chain that shows every change, and an archive of what it was made from.
//!
//! Comes in: documents about to be issued and, later, the hashes of their files. Goes out: a folder with `register.jsonl` and
//! `archive/`. Next: [`crate::issue`], which opens documents here, paints them and has them entered.
//!
//! ```text
//! archive: every source, record and picture ─▶ `opened` lines ─▶ documents painted and written ─▶ `issued` lines
//! ```
//!
//! Nothing is ever changed or removed. A crash leaves an `opened` line without its `issued`: the next run finishes it from the
//! archive or writes a `void` line with the reason.

mod archive;
mod book;
mod line;

pub use archive::Archive;
pub use book::{Book, Fault, Head, Held, Torn};
pub use line::{Entry, Issued, KeyFigures, Line, Opened, SourceEntry, Void, hash_of};
