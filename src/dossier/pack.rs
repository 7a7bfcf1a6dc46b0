//! The folder as one ZIP.
//!
//! Comes in: a folder that is whole. Goes out: a file beside it, the same bytes for the same files: in the order of their
//! names, without times and owners.

use super::folder::{Whole, above, for_everybody};
use std::fs::File;
use std::io::{BufWriter, Error, Write};
use std::path::Path;
use tempfile::NamedTempFile;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// Level of compression: the least takes half off the pages and records, the best little more and five times as long.
const LEVEL: i64 = 1;

/// Endings of files that are compressed already.
const DENSE: [&str; 3] = [".pdf", ".png", ".ttf"];

/// Packs the files of a folder into a temporary file beside `zip`.
///
/// # Errors
/// Those of the file system.
pub fn packed(folder: &Whole, zip: &Path) -> Result<NamedTempFile, Error> {
    let file = for_everybody(tempfile::Builder::new().prefix(".halfcell-"), 0o666).tempfile_in(above(zip))?;
    let mut packer = ZipWriter::new(BufWriter::with_capacity(256 * 1024, file.as_file()));
    for name in folder.sums.keys() {
        let method = match DENSE.iter().any(|ending| name.to_lowercase().ends_with(ending)) {
            true => CompressionMethod::Stored,
            false => CompressionMethod::Deflated,
        };
        let level = (method == CompressionMethod::Deflated).then_some(LEVEL);
        let mut from = File::open(folder.path().join(name))?;
        let options = SimpleFileOptions::default()
            .last_modified_time(DateTime::DEFAULT)
            .unix_permissions(0o644)
            .large_file(from.metadata()?.len() > u64::from(u32::MAX / 2))
            .compression_method(method)
            .compression_level(level);
        packer.start_file(name.as_str(), options)?;
        std::io::copy(&mut from, &mut packer)?;
    }
    packer.finish()?.flush()?;
    Ok(file)
}
