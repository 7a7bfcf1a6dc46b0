//! What a register tells of loops and probes over time.
//!
//! Comes in: a [`crate::register::View`]. Goes out: the course of a loop or a probe, visit by visit, and when each loop is due.
//! Next: [`crate::commands`].
//!
//! ```text
//! lines ─roll─▶ the document that counts for each visit ─courses─▶ records of what is asked for ─▶ Course
//!                                                       ─due─▶ the last records of each loop ─▶ Due
//! ```
//!
//! Of a document that does not count for its loop no record is read.

mod courses;
mod due;
mod roll;

pub use courses::{Lost, Wanted, courses, firm_of, line_of};
pub use due::{Agreed, Due, Suggested, due};
pub use roll::{Counting, Roll, roll};
