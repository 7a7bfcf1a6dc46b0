//! Which documents of a register are meant, and a register opened to be read.

use super::arguments::Which;
use super::lookup::tell_unknown;
use super::{MISUSE, REFUSED, tell};
use crate::register::{Selection, Trouble, View};
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::path::Path;

/// Opens a register to be read.
///
/// # Errors
/// The exit code, when everything was told.
pub fn open(folder: &Path) -> Result<View, u8> {
    View::open(folder).map_err(|trouble| tell_trouble(&trouble))
}

/// Tells why a register cannot be read. Gives the exit code.
pub fn tell_trouble(trouble: &Trouble) -> u8 {
    match trouble {
        Trouble::Access(path, error) => {
            tell(&format!("halfcell: {}: {error}; name the folder of the register with --register\n", path.display()));
            MISUSE
        }
        Trouble::Broken(path, fault) => {
            let (path, why) = (path.display(), fault.told());
            tell(&format!(
                "halfcell: {path}: {why}; nothing is read from a register that was changed: `halfcell verify` tells how far \
                 it can be trusted\n"
            ));
            REFUSED
        }
    }
}

/// The selection that is asked for; a client or tag that no document has is told with the nearest name.
///
/// # Errors
/// The exit code, when everything was told.
pub fn selection(which: &Which, view: &View) -> Result<Selection, u8> {
    let (clients, tags) = (which.client.clone(), which.tag.clone());
    let selection = Selection { clients, tags, from: which.from, to: which.to };
    if selection.clients.is_empty() && selection.tags.is_empty() {
        return Ok(selection);
    }
    let (mut clients, mut tags) = (BTreeSet::new(), BTreeSet::new());
    let read = view.documents(|viewed| {
        clients.insert(viewed.opened.client);
        tags.extend(viewed.opened.tag);
        ControlFlow::Continue(())
    });
    read.map_err(|trouble| tell_trouble(&trouble))?;
    let lowered: BTreeSet<String> = clients.iter().map(|name| name.to_lowercase()).collect();
    let unknown_clients = selection.clients.iter().filter(|name| !lowered.contains(&name.to_lowercase()));
    let unknown_tags = selection.tags.iter().filter(|tag| !tags.contains(*tag));
    let mut is_known = true;
    let told =
        unknown_clients.map(|name| ("client", name, &clients)).chain(unknown_tags.map(|tag| ("tag", tag, &tags)));
    for (what, name, known) in told {
        tell_unknown(what, name, known.iter().map(String::as_str));
        is_known = false;
    }
    if is_known { Ok(selection) } else { Err(REFUSED) }
}
