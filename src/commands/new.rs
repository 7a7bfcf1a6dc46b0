//! `new`: a commented visit file to fill in; identities from a client file or an earlier visit, readings empty.

use super::arguments::New;
use super::{DONE, MISUSE, REFUSED, print, tell};
use crate::client::{Client, Identity, LoopQuantity, Probe};
use crate::problem::{Place, Problem};
use crate::reference::buffers::Buffer;
use crate::visit::{self, Given, Loop, RemedyKind, Visit};
use crate::yaml::{self, Text};
use handlebars::Handlebars;
use serde::Serialize;
use std::io::Write;
use std::path::{Component, Path, PathBuf};

/// Everything the template asks for; texts are YAML already.
#[derive(Debug, Default, Serialize)]
struct Sheet {
    client_file: Option<String>,
    client_name: String,
    client_address: String,
    client_contact: String,
    site: String,
    kit_file: Option<String>,
    standards: Vec<String>,
    limits_file: Option<String>,
    technicians: String,
    buffers: String,
    remedies: String,
    has_redox: bool,
    loops: Vec<LoopSheet>,
}

/// One loop of the sheet.
#[derive(Debug, Serialize)]
struct LoopSheet {
    tag: String,
    identity: Vec<String>,
    probe: String,
    readings: Vec<String>,
}

/// Runs `new`.
pub fn run(order: &New) -> u8 {
    let folder = order.out.as_deref().and_then(Path::parent).unwrap_or(Path::new("")).to_owned();
    let sheet = match order.from.as_deref() {
        None => Ok(blank()),
        Some(from) => filled(from, &folder, &order.tag),
    };
    let sheet = match sheet {
        Ok(sheet) => sheet,
        Err(problems) => {
            problems.iter().for_each(|problem| tell(&(problem.long() + "\n")));
            return REFUSED;
        }
    };
    let text = written(&sheet);
    match &order.out {
        None => print(&text),
        Some(path) => {
            if let Err(error) = std::fs::File::create_new(path).and_then(|mut file| file.write_all(text.as_bytes())) {
                tell(&format!("halfcell: {}: {error}\n", path.display()));
                return MISUSE;
            }
        }
    }
    DONE
}

fn written(sheet: &Sheet) -> String {
    let mut book = Handlebars::new();
    book.set_strict_mode(true);
    book.register_escape_fn(handlebars::no_escape);
    let text = book.render_template(include_str!("../../templates/new/visit.yaml.hbs"), sheet);
    text.expect("the template asks only for fields of the sheet, which a test renders")
}

/// A sheet with nothing known.
fn blank() -> Sheet {
    let tag = LoopSheet {
        tag: String::new(),
        identity: vec!["quantity: pH                 # pH | redox".to_owned(), "location:".to_owned(), "range: [0, 14]".to_owned(), "output: 4-20 mA".to_owned(), "analyser: { make: , model: , serial: }".to_owned()],
        probe: "    probe:                       # serial as read from the plate, or { make: , model: , serial: , reference: , temperature_element: Pt1000, installed: , condition: }".to_owned(),
        readings: empty_readings(default_standards(LoopQuantity::Ph)),
    };
    Sheet { loops: vec![tag], ..words() }
}

/// A sheet with the words that its comments list.
fn words() -> Sheet {
    let buffers: Vec<&str> = Buffer::ALL.iter().map(|buffer| buffer.name()).collect();
    let remedies: Vec<&str> = RemedyKind::WORDS.iter().map(|(word, _)| *word).collect();
    Sheet { buffers: buffers.join(", "), remedies: remedies.join(", "), ..Sheet::default() }
}

/// A sheet with the identities of a client file or an earlier visit.
fn filled(from: &Path, folder: &Path, tags: &[String]) -> Result<Sheet, Vec<Problem>> {
    let name = from.display().to_string();
    let bytes = std::fs::read(from).map_err(|error| vec![unreadable(&name, &error)])?;
    let tree = yaml::read(&name, &bytes)?;
    let sheet = match crate::client::is_kind(&tree.top_keys()) {
        true => {
            let client = crate::client::check(&tree.root());
            let problems = tree.problems();
            match client.filter(|_| !crate::requirements::has_error(&problems)) {
                Some(client) => from_client(&client, &relative(from, folder)?),
                None => return Err(problems),
            }
        }
        false => {
            let opened = visit::open(from, &Given::default());
            match opened.visit {
                Some(visit) => from_visit(&visit, from, folder, tree.root())?,
                None => return Err(opened.problems),
            }
        }
    };
    only(sheet, tags, &name)
}

fn unreadable(name: &str, error: &std::io::Error) -> Problem {
    let fix = "give a client file or an earlier visit file";
    Problem::error("file-unreadable", &Place::whole(name), error.to_string(), "the file cannot be read", fix)
}

/// Keeps the loops asked for.
fn only(mut sheet: Sheet, tags: &[String], name: &str) -> Result<Sheet, Vec<Problem>> {
    let known: Vec<String> = sheet.loops.iter().map(|l| l.tag.clone()).collect();
    let unknown = |tag: &&String| !known.contains(&quoted(tag));
    let problems: Vec<Problem> = tags
        .iter()
        .filter(unknown)
        .map(|tag| {
            let fix = format!("one of: {}", known.join(", "));
            Problem::error(
                "unknown-tag",
                &Place::whole(name),
                format!("no loop has the tag {tag}"),
                "`--tag` chooses among the loops of this file",
                fix,
            )
        })
        .collect();
    if !problems.is_empty() {
        return Err(problems);
    }
    let chosen: Vec<String> = tags.iter().map(|tag| quoted(tag)).collect();
    sheet.loops.retain(|l| chosen.is_empty() || chosen.contains(&l.tag));
    Ok(sheet)
}

fn from_client(client: &Client, path: &str) -> Sheet {
    let sites: Vec<&str> = client.sites.iter().map(|site| site.key.as_str()).collect();
    let loops = client.loops.iter().map(|known| {
        let quantity = known.identity.quantity.unwrap_or(LoopQuantity::Ph);
        let site = known.site.as_ref().map(|site| site.text.as_str());
        let location = known.identity.location.as_ref().map(|location| location.text.as_str());
        let place: Vec<&str> = [site, location].into_iter().flatten().collect();
        LoopSheet {
            tag: quoted(&known.tag.text),
            identity: vec![format!("quantity: {:<18} # {}", quantity.word(), one_line(&place.join(", ")))],
            probe: plate(known.identity.probe.as_ref(), true),
            readings: empty_readings(default_standards(quantity)),
        }
    });
    Sheet {
        client_file: Some(quoted(path)),
        site: match sites.as_slice() {
            [only] => quoted(only),
            _ => format!("                        # one of: {}", sites.join(", ")),
        },
        has_redox: client.loops.iter().any(|known| known.identity.quantity == Some(LoopQuantity::Redox)),
        loops: loops.collect(),
        ..words()
    }
}

fn from_visit(visit: &Visit, from: &Path, folder: &Path, root: yaml::At<'_>) -> Result<Sheet, Vec<Problem>> {
    let mut head = root.keys("visit file").and_then(|mut keys| keys.get("visit")).and_then(|at| at.keys("visit"));
    let mut path_of =
        |key: &'static str| head.as_mut().and_then(|keys| keys.get(key)).and_then(|at| at.raw().map(str::to_owned));
    let beside = |path: Option<String>| {
        let there = path.map(|path| from.parent().unwrap_or(Path::new("")).join(path));
        there.map(|there| relative(&there, folder).map(|path| quoted(&path))).transpose()
    };
    let (client_file, kit_file, limits_file) =
        (beside(path_of("client"))?, beside(path_of("kit"))?, beside(path_of("limits"))?);
    let technicians: Vec<String> = visit.technicians.iter().map(|person| quoted(&person.name.text)).collect();
    let in_roster = client_file.is_some();
    let loops = visit.loops.iter().map(|known| LoopSheet {
        tag: quoted(&known.tag.text),
        identity: match in_roster {
            true => vec![format!("quantity: {}", known.quantity.word())],
            false => identity(&known.identity, known.quantity),
        },
        probe: plate(left_probe(known), in_roster),
        readings: empty_readings(standards_of(visit, known)),
    });
    Ok(Sheet {
        client_file,
        client_name: quoted(&visit.client.name.text),
        client_address: match visit.client.address.is_empty() {
            true => String::new(),
            false => quoted(&visit.client.address.join(" / ")),
        },
        client_contact: visit.client.contact.as_ref().map_or_else(String::new, |contact| quoted(&contact.text)),
        site: visit
            .site
            .as_ref()
            .map_or_else(String::new, |site| quoted(if site.key.is_empty() { &site.name } else { &site.key })),
        kit_file,
        limits_file,
        technicians: technicians.join(", "),
        has_redox: visit.loops.iter().any(|known| known.quantity == LoopQuantity::Redox),
        loops: loops.collect(),
        ..words()
    })
}

/// A text between double quotes, as YAML and JSON both read it.
fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("a text is always JSON")
}

/// The lines of a loop's identity.
fn identity(identity: &Identity, quantity: LoopQuantity) -> Vec<String> {
    let mut lines = vec![format!("quantity: {}", quantity.word())];
    lines.extend(identity.location.as_ref().map(|location| format!("location: {}", quoted(&location.text))));
    lines.extend(identity.range.as_ref().map(|[low, high]| format!("range: [{}, {}]", low.text, high.text)));
    lines.extend(identity.output.map(|output| format!("output: {}", output.word())));
    lines.extend(identity.analyser.as_ref().map(|device| {
        format!(
            "analyser: {{ make: {}, model: {}, serial: {} }}",
            known(&device.make),
            known(&device.model),
            known(&device.serial)
        )
    }));
    lines
}

fn known(text: &Option<Text>) -> String {
    text.as_ref().map_or_else(String::new, |text| quoted(&text.text))
}

/// The probe that the earlier visit left in the loop.
fn left_probe(known: &Loop) -> Option<&Probe> {
    known.remedies.iter().rev().find_map(|remedy| remedy.probe.as_ref()).or(Some(&known.probe))
}

/// The line that asks for the serial on the plate, with last time's beside it: the plate is to be read, not copied. What a
/// roster does not hold of the probe follows.
fn plate(probe: Option<&Probe>, in_roster: bool) -> String {
    let last = probe.and_then(|probe| probe.device.serial.as_ref());
    let last = last.map_or_else(String::new, |serial| format!(" (last known: {})", one_line(&serial.text)));
    let line = format!("    probe:                       # serial as read from the plate{last}");
    let parts = probe.filter(|_| !in_roster).map_or_else(Vec::new, |probe| {
        let (make, model) = (&probe.device.make, &probe.device.model);
        let (reference, element) = (&probe.reference, &probe.temperature_element);
        [("make", make), ("model", model), ("reference", reference), ("temperature_element", element)]
            .iter()
            .filter_map(|(key, text)| Some(format!("{key}: {}", quoted(&text.as_ref()?.text))))
            .collect::<Vec<_>>()
    });
    match parts.is_empty() {
        true => line,
        false => format!("{line}\n      {{ serial: , {} }}", parts.join(", ")),
    }
}

/// The standards in which the loop was read as found, else the usual ones.
fn standards_of(visit: &Visit, known: &Loop) -> Vec<String> {
    let readings = known.as_found.0.obtained().map_or(&[][..], |state| &state.readings);
    let mut names: Vec<String> = Vec::new();
    for reading in readings {
        let name = &visit.kit.standards[reading.standard].name.text;
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    match names.is_empty() {
        true => default_standards(known.quantity),
        false => names,
    }
}

fn default_standards(quantity: LoopQuantity) -> Vec<String> {
    let names: &[&str] = match quantity {
        LoopQuantity::Ph => &["B7", "B4"],
        LoopQuantity::Redox => &["R1"],
    };
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn empty_readings(standards: Vec<String>) -> Vec<String> {
    let empty = |name: &String| format!("{{ in: {name}, mv: , temperature: , after: , shown: }}");
    standards.iter().map(empty).collect()
}

/// A text without line ends, for a comment.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `path` as the new file in `folder` would name it: below that folder or the one above it.
fn relative(path: &Path, folder: &Path) -> Result<String, Vec<Problem>> {
    let absolute = |path: &Path| std::path::absolute(path).map(|path| tidy(&path)).unwrap_or_else(|_| path.to_owned());
    let (path, folder) =
        (absolute(path), absolute(if folder.as_os_str().is_empty() { Path::new(".") } else { folder }));
    let slashes = |path: &Path| {
        path.components().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>().join("/")
    };
    let above = folder.parent();
    let found = path.strip_prefix(&folder).map(slashes).ok();
    found.or_else(|| Some(format!("../{}", slashes(path.strip_prefix(above?).ok()?)))).ok_or_else(|| {
        let what = format!("{} lies outside the folder of the new file and the folder above it", path.display());
        let fix = "write the new file (`--out`) into a folder beside it, for example visits/NEW.yaml beside clients/";
        vec![Problem::error(
            "path-outside",
            &Place::whole(&path.display().to_string()),
            what,
            "a visit file names only files below its folder or the folder above",
            fix,
        )]
    })
}

/// A path without `.` and `..`.
fn tidy(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::ParentDir => {
                out.pop();
            }
            Component::CurDir => {}
            Component::Normal(_) | Component::RootDir | Component::Prefix(_) => out.push(part),
        }
    }
    out
}
