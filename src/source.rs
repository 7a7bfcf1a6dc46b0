//! Where files come from: a folder on disk today, the register's archive later.
//!
//! Comes in: the path of a visit file. Goes out: [`Source`]s, each text read once, named as the visit names it and
//! identified by its SHA-256. Next: [`crate::yaml`].

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Name relative to the folder of the visit file, with forward slashes: `kit.yaml`, `../clients/x.yaml`.
    pub name: String,
    /// The bytes as read.
    pub bytes: Vec<u8>,
    /// SHA-256 of the bytes, lower-case hexadecimal.
    pub sha256: String,
}
