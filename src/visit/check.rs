//! The whole visit file: head, loops, signatures, and what only several loops together show.

use super::files::Files;
use super::head::{self, Head, misspelt_person};
use super::limits_of::{Named, Sets};
use super::loops::LimitsFrom;
use super::{Accepted, Loop, Signature, Visit, loops, standards};
use crate::client::look_alike;
use crate::firm::{Firm, Role};
use crate::problem::{Fact, Problem};
use crate::quantity::Moment;
use crate::yaml::{At, Text};
use std::collections::HashMap;

/// What was found in a visit file.
#[derive(Default)]
pub(super) struct Checked {
    /// The visit with the loops that could be read; none where its head could not.
    pub(super) visit: Option<Visit>,
    /// Whether every loop of the file is there.
    pub(super) is_complete: bool,
    /// What each loop accepts, by position in the file.
    pub(super) accepted: Vec<Vec<Accepted>>,
}

/// Checks the tree of a visit file; `name` is its name relative to its folder. The visit has no sources yet. `None`
/// only when a problem was booked; where loops are missing in it, they could not be read.
pub(super) fn check(
    root: &At<'_>,
    name: &str,
    files: &Files,
    firm: &Firm,
    firm_limits: Option<&Named>,
    sets: Sets,
) -> Checked {
    let Some(mut keys) = root.keys("a visit file with `visit:`, `loops:` and `signatures:`") else {
        return Checked::default();
    };
    let mut head = match keys.need("visit", "number, times, client and technicians stand there") {
        Some(at) => head::check(&at, &mut keys, files, name, firm),
        None => {
            // They may stand beside `visit:`: known keys, whatever became of it.
            let _ = (keys.get("standards"), keys.get("instruments"));
            Head::default()
        }
    };
    let entries =
        keys.need("loops", "a visit is about the loops that were worked on").map_or_else(Vec::new, |at| list(&at));
    let mut from = LimitsFrom { sets, firm: firm_limits };
    // A file of too many problems is refused whatever follows: its further loops are not looked at.
    let looked_at = entries.iter().take_while(|at| !at.is_full());
    let (checked, accepted): (Vec<Option<Loop>>, Vec<Vec<Accepted>>) =
        looked_at.map(|at| loops::check(at, &head, files, name, &mut from)).unzip();
    let signatures = keys.get("signatures").map_or_else(Vec::new, |at| signatures(&at, &mut head, firm));
    let own = keys.finish();
    let known: Vec<Loop> = checked.into_iter().flatten().collect();
    tags(root, &entries);
    serials(root, &known);
    if let Some(last) = end_of_work(&head, &known) {
        signed_too_early(root, &signatures, &last);
    }
    for problem in standards::on_the_day(&head) {
        files.tell(problem);
    }
    let is_complete = known.len() == entries.len();
    let is_readable = !known.is_empty() && !root.is_full();
    let visit = is_readable.then(|| assemble(head, known, signatures, own)).flatten();
    Checked { visit, is_complete, accepted }
}

fn assemble(mut head: Head, loops: Vec<Loop>, signatures: Vec<Signature>, own: Vec<(String, String)>) -> Option<Visit> {
    head.extensions.extend(own);
    Some(Visit {
        number: head.number?,
        started: head.started?,
        finished: head.finished,
        client: head.client?,
        site: head.site,
        order: head.order,
        kit: head.kit,
        technicians: head.technicians,
        procedure: head.procedure,
        ambient: head.ambient,
        conditions_note: head.conditions_note,
        loops,
        signatures,
        extensions: head.extensions,
        sources: Vec::new(),
    })
}

fn list<'t>(at: &At<'t>) -> Vec<At<'t>> {
    let Some(entries) = at.list("loops") else {
        return Vec::new();
    };
    if entries.is_empty() {
        at.tell(Problem::error(
            "no-loop",
            &at.place(),
            "the list of loops is empty",
            "a visit is about the loops that were worked on",
            "add at least one loop: `- tag: …`",
        ));
    }
    entries
}

/// Tags that stand twice, and tags that only look alike.
fn tags(root: &At<'_>, loops: &[At<'_>]) {
    let tag = |at: &At<'_>| {
        let mut keys = at.is_mapping().then(|| at.keys("a loop"))??;
        let tag = keys.get("tag")?;
        let text = tag.raw()?.trim().to_owned();
        Some(Text { text, place: tag.place() })
    };
    let tags: Vec<Text> = loops.iter().filter_map(tag).filter(|tag| !tag.text.is_empty()).collect();
    let mut seen: HashMap<String, &Text> = HashMap::with_capacity(tags.len());
    for tag in &tags {
        let earlier = seen.get(&look_alike(&tag.text)).copied();
        seen.entry(look_alike(&tag.text)).or_insert(tag);
        match earlier {
            Some(other) if other.text == tag.text => root.tell(Problem::error(
                "tag-twice",
                &tag.place,
                format!("`{}` stands in line {} as well", tag.text, other.place.line),
                "each loop of a visit has one entry and one certificate",
                "correct the tag, or put everything about the loop into one entry",
            )),
            Some(other) => root.tell(
                Problem::warning(
                    "tag-looks-alike",
                    &tag.place,
                    format!("`{}` looks like `{}` in line {}", tag.text, other.text, other.place.line),
                    "they differ only in capitals, in the kind of a dash or space, or in how a letter is composed",
                    "read both plates again; write one and the same tag in one way",
                )
                .about([("tag", Fact::text(&tag.text)), ("other", Fact::text(&other.text))]),
            ),
            None => {}
        }
    }
}

/// One probe in two loops of the same visit.
fn serials(root: &At<'_>, loops: &[Loop]) {
    // The first loop of a serial, and the first of another tag than that.
    let mut seen: HashMap<&str, (&Loop, Option<&Loop>)> = HashMap::with_capacity(loops.len());
    for here in loops {
        let Some(serial) = here.probe.device.serial.as_ref() else {
            continue;
        };
        let (first, second) = seen.entry(&serial.text).or_insert((here, None));
        let other = if first.tag.text == here.tag.text { *second } else { Some(*first) };
        if first.tag.text != here.tag.text {
            second.get_or_insert(here);
        }
        if let Some(other) = other {
            root.tell(
                Problem::warning(
                    "serial-repeated",
                    // The place of the loop where the serial comes from a roster.
                    if serial.place.file == here.place.file { &serial.place } else { &here.place },
                    format!("`{}` and `{}` have the same probe, `{}`", other.tag.text, here.tag.text, serial.text),
                    "one probe is not in two loops: moved, or typed from the wrong plate?",
                    "read both plates again",
                )
                .about([
                    ("serial", Fact::text(&serial.text)),
                    ("tag", Fact::text(&here.tag.text)),
                    ("other", Fact::text(&other.tag.text)),
                ]),
            );
        }
    }
}

fn signatures(at: &At<'_>, head: &mut Head, firm: &Firm) -> Vec<Signature> {
    let entries = at.list("signatures").unwrap_or_default();
    let signatures: Vec<Signature> = entries.iter().filter_map(|at| signature(at, head, firm)).collect();
    for (position, signature) in signatures.iter().enumerate() {
        let same_role = |other: &&Signature| other.role == signature.role;
        let Some(other) = signatures[..position].iter().find(same_role) else {
            continue;
        };
        // Several technicians sign the work that they did; every other role is one person's.
        let several = signature.role == Role::Performed && other.name.text != signature.name.text;
        if !several {
            at.tell(Problem::error(
                "signed-twice",
                &signature.name.place,
                format!("`{}` stands in line {} as well", signature.role.word(), other.name.place.line),
                "a signature with one meaning is given once",
                "remove one of the two, or correct its role",
            ));
        }
    }
    signatures
}

fn signature(at: &At<'_>, head: &mut Head, firm: &Firm) -> Option<Signature> {
    let mut keys = at.keys("a signature")?;
    let role = keys
        .need("role", "a signature without its meaning says nothing")
        .and_then(|at| at.word("the role of a signature", Role::WORDS));
    let name_at = keys.need("name", "a signature is somebody's");
    let name = match (&name_at, role) {
        (Some(at), Some(Role::Performed)) => head.technician(at),
        (Some(at), _) => at.name(),
        (None, _) => None,
    };
    if let (Some(at), Some(name), Some(Role::Reviewed | Role::Authorised)) = (&name_at, &name, role) {
        misspelt_person(at, name, firm);
    }
    let signed = keys.get("signed").and_then(|at| at.moment());
    let path = at.path().to_owned();
    let own = keys.finish().into_iter();
    head.extensions.extend(own.map(|(key, text)| (format!("{path}.{key}"), text)));
    Some(Signature { role: role?, name: name?, signed })
}

/// The end of the visit, else the last time that is known of the work.
fn end_of_work(head: &Head, loops: &[Loop]) -> Option<Moment> {
    if head.finished.is_some() {
        return head.finished.clone();
    }
    let remedies = loops.iter().flat_map(|it| &it.remedies).filter_map(|remedy| remedy.at.as_ref());
    let readings = loops.iter().flat_map(super::readings_of).filter_map(|reading| reading.at.as_ref());
    remedies.chain(readings).chain(&head.started).max_by_key(|time| time.instant).cloned()
}

fn signed_too_early(root: &At<'_>, signatures: &[Signature], end: &Moment) {
    for signature in signatures {
        let Some(signed) = signature.signed.as_ref().filter(|signed| signed.instant < end.instant) else {
            continue;
        };
        root.tell(Problem::error(
            "signed-before-end",
            &signed.place,
            format!("`{}` signed {}, the work ended {}", signature.role.word(), signed.print(), end.print()),
            "nobody can vouch for work that is not done yet",
            "correct the time of the signature or the end of the visit",
        ));
    }
    signed_in_order(root, signatures);
}

/// Performed, then reviewed, then authorised.
fn signed_in_order(root: &At<'_>, signatures: &[Signature]) {
    let times = || signatures.iter().filter_map(|it| Some((it.role, it.signed.as_ref()?)));
    for (role, signed) in times().filter(|(role, _)| *role != Role::Received) {
        let later = times().find(|(other, time)| *other < role && time.instant > signed.instant);
        if let Some((other, time)) = later {
            root.tell(
                Problem::warning(
                    "signature-order",
                    &signed.place,
                    format!("`{}` {}, `{}` only {}", role.word(), signed.print(), other.word(), time.print()),
                    "the work is signed by who performed it before others review and authorise it",
                    "correct the times",
                )
                .about([
                    ("role", Fact::word("role", role.word())),
                    ("signed", Fact::time(signed.print())),
                    ("other", Fact::word("role", other.word())),
                    ("time", Fact::time(time.print())),
                ]),
            );
        }
    }
}
