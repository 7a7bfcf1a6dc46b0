//! Key files that people name: those that vouch for a register and those that tell who did.

use super::{MISUSE, tell};
use crate::register::{KeyFault, PrivateKey, PublicKey};
use std::path::Path;

/// Files larger than this are no key: one takes some 120 bytes.
const LARGEST: u64 = 64 * 1024;

/// The key of `--sign`, read before any work.
///
/// # Errors
/// The exit code: what is wrong was told.
pub fn private(path: Option<&Path>) -> Result<Option<PrivateKey>, u8> {
    let Some(path) = path else { return Ok(None) };
    let key = key(path, "--sign", PrivateKey::read)?;
    if is_open_to_others(path) {
        let path = path.display();
        tell(&format!(
            "halfcell: {path}: others than its owner may read this private key, and sign in your name; `chmod 600 {path}` \
             keeps it to the owner\n"
        ));
    }
    Ok(Some(key))
}

/// The keys of `--trust`.
///
/// # Errors
/// The exit code: what is wrong was told.
pub fn public(path: &Path) -> Result<PublicKey, u8> {
    key(path, "--trust", PublicKey::read)
}

fn key<K>(path: &Path, flag: &str, read: fn(&str) -> Result<K, KeyFault>) -> Result<K, u8> {
    let refused = |why: String| {
        tell(&format!("halfcell: {flag} {}: {why}\n", path.display()));
        MISUSE
    };
    let found = std::fs::metadata(path).map_err(|error| refused(error.to_string()))?;
    if !found.is_file() || found.len() > LARGEST {
        return Err(refused(KeyFault::NoKey.told().to_owned()));
    }
    let bytes = std::fs::read(path).map_err(|error| refused(error.to_string()))?;
    read(&String::from_utf8_lossy(&bytes)).map_err(|fault| refused(fault.told().to_owned()))
}

#[cfg(unix)]
fn is_open_to_others(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    std::fs::metadata(path).is_ok_and(|found| found.permissions().mode() & 0o077 != 0)
}

/// Elsewhere the folder's rights hold.
#[cfg(not(unix))]
fn is_open_to_others(_: &Path) -> bool {
    false
}
