//! The identity of a loop: what the visit says, completed from the client's roster.

use super::head::Head;
use super::limits_of::Named;
use crate::client::{self, Client, Identity, LoopQuantity, Probe, RosterLoop, same_serial, usual_process};
use crate::problem::{Fact, Place, Problem};
use crate::reference::electrodes::ReferenceElectrode;
use crate::yaml::{At, Keys, Text, few, nearest};

/// What is known of a loop after the roster was looked up.
pub(super) struct Found {
    pub(super) identity: Identity,
    pub(super) probe: Option<Probe>,
    pub(super) roster_limits: Option<Named>,
}

/// Reads the identity of a loop and completes it from the roster.
pub(super) fn check(keys: &mut Keys<'_>, tag: Option<&Text>, head: &Head) -> Found {
    let mut own = client::identity(keys);
    let listed = tag.and_then(|tag| listed(tag, head));
    let unlisted = listed.is_none() && head.client.as_ref().is_some_and(|client| !client.loops.is_empty());
    if let (true, Some(tag), Some(client)) = (unlisted, tag, &head.client) {
        keys.at().tell(not_in_roster(tag, client, &own));
    }
    if let Some(entry) = listed {
        merge(keys, &mut own, &entry.identity);
        of_the_site(keys.at(), entry, head);
    }
    // Without its roster a loop cannot be blamed for what it leaves to it.
    let left_to_roster = head.roster_lost || unlisted && own.quantity.is_none();
    if own.quantity.is_none() && !left_to_roster {
        keys.need("quantity", "pH and redox loops are checked and computed in different ways");
    }
    let both_here = keys.get("analyser").is_some() && keys.get("probe").is_some();
    let probe = probe(keys, own.probe.take(), listed, head, left_to_roster);
    if let (false, Some(problem)) = (both_here, same_serial(own.analyser.as_ref(), probe.as_ref())) {
        keys.at().tell(problem);
    }
    redox_reference(keys, &own, &probe);
    own.probe.clone_from(&probe);
    let limits = listed.and_then(|entry| entry.limits.as_ref());
    let roster_limits = limits.zip(head.client_file.as_ref()).map(|(path, file)| Named::of(path, file));
    Found { identity: own, probe, roster_limits }
}

/// The roster's entry of a tag.
fn listed<'h>(tag: &Text, head: &'h Head) -> Option<&'h RosterLoop> {
    let site = head.site.as_ref().map(|site| site.key.as_str());
    head.client.as_ref()?.roster_loop(&tag.text, site)
}

/// A tag that the roster does not know. With an identity of its own it may be a new loop; else it is misread.
fn not_in_roster(tag: &Text, client: &Client, own: &Identity) -> Problem {
    let tags = || client.loops.iter().map(|entry| entry.tag.text.as_str());
    let alike = client.looks_like(&tag.text).next().map(|entry| entry.tag.text.as_str());
    let serial = own.probe.as_ref().and_then(|probe| probe.device.serial.as_ref());
    let of_probe = serial.and_then(|serial| client.with_serial(&serial.text).next());
    let fix = match (of_probe, alike.or_else(|| nearest(&tag.text, tags()))) {
        (Some(entry), _) => {
            format!("did you mean `{}`, whose probe it is? A new loop is added to the roster first", entry.tag.text)
        }
        (None, Some(near)) => {
            format!("did you mean `{near}`? A new loop is added to the roster first")
        }
        (None, None) => {
            format!("read the tag plate again (the roster has {}), or add the new loop to the roster", few(tags()))
        }
    };
    let problem = Problem::error(
        "tag-not-in-roster",
        &tag.place,
        format!("`{}` is not in the roster of the client file", tag.text),
        "a certificate of a loop that does not exist would be filed nowhere",
        fix,
    )
    .about([("tag", Fact::text(&tag.text))]);
    match own.quantity {
        Some(_) => problem.acceptable(),
        None => problem,
    }
}

fn of_the_site(at: &At<'_>, entry: &RosterLoop, head: &Head) {
    let Some((site, listed)) = head.site.as_ref().zip(entry.site.as_ref()) else {
        return;
    };
    if !site.key.is_empty() && site.key != listed.text {
        at.tell(
            Problem::error(
                "loop-of-another-site",
                &at.place(),
                format!("`{}` belongs to the site `{}`, the visit was at `{}`", entry.tag.text, listed.text, site.key),
                "the certificate says where the work was done",
                "correct the tag, the site of the visit, or the roster",
            )
            .about([
                ("tag", Fact::text(&entry.tag.text)),
                ("site", Fact::text(&listed.text)),
                ("visited", Fact::text(&site.key)),
            ])
            .acceptable(),
        );
    }
}

/// Completes `own` from the roster. A key that stands in both is a problem; the quantity only where the two differ.
fn merge(keys: &mut Keys<'_>, own: &mut Identity, roster: &Identity) {
    match (own.quantity, roster.quantity, keys.get("quantity")) {
        (Some(here), Some(there), Some(at)) if here != there => {
            at.tell(Problem::error(
                "quantity-contradicts-roster",
                &at.place(),
                format!("`{}`, and the roster says `{}`", here.word(), there.word()),
                "a loop measures one quantity; this may be the wrong tag",
                "read the tag plate again, or correct the roster",
            ));
            // Nothing is judged by a quantity that is not sure.
            own.quantity = None;
        }
        (here, there, _) => own.quantity = here.or(there),
    }
    let doubles: [(&'static str, Option<Place>); 4] = [
        ("location", roster.location.as_ref().map(|text| text.place.clone())),
        ("range", roster.range.as_ref().map(|range| range[0].place.clone())),
        ("output", roster.output.map(|_| Place::default())),
        ("analyser", roster.analyser.as_ref().map(device_place)),
    ];
    for (key, there) in doubles {
        if let (Some(at), Some(there)) = (keys.get(key), there) {
            given_twice(&at, key, &there);
        }
    }
    own.location = own.location.take().or_else(|| roster.location.clone());
    own.range = own.range.take().or_else(|| roster.range.clone());
    own.output = own.output.or(roster.output);
    own.analyser = own.analyser.take().or_else(|| roster.analyser.clone());
}

fn device_place(device: &client::Device) -> Place {
    let parts = [&device.make, &device.model, &device.serial];
    parts.into_iter().flatten().next().map_or_else(Place::default, |text| text.place.clone())
}

/// Tells that a key stands in the visit and in the client file.
pub(super) fn given_twice(at: &At<'_>, key: &str, there: &Place) {
    let there = match there.file.is_empty() {
        true => "the roster of the client file".to_owned(),
        false => format!("the roster ({there})"),
    };
    at.tell(Problem::error(
        "given-in-both-places",
        &at.place(),
        format!("`{key}` is given here and in {there}"),
        "with two sources nobody can tell which one holds",
        "remove it here; where the roster is wrong, correct the roster",
    ));
}

/// Reads the process values of the identity, completed from the roster.
pub(super) fn process(keys: &mut Keys<'_>, identity: &mut Identity, head: &Head, tag: &str) {
    usual_process(keys, identity);
    let site = head.site.as_ref().map(|site| site.key.as_str());
    let Some(entry) = head.client.as_ref().and_then(|client| client.roster_loop(tag, site)) else {
        return;
    };
    if let (Some(at), Some(there)) = (keys.get("usual"), &entry.identity.usual) {
        given_twice(&at, "process.usual", &there[0].place);
    }
    complete_process(identity, &entry.identity);
}

fn complete_process(own: &mut Identity, roster: &Identity) {
    own.usual = own.usual.take().or_else(|| roster.usual.clone());
    own.conductivity = own.conductivity.take().or_else(|| roster.conductivity.clone());
}

/// The probe found in the loop: the serial as read, the rest from the roster where it is the same probe.
fn probe(
    keys: &mut Keys<'_>,
    own: Option<Probe>,
    listed: Option<&RosterLoop>,
    head: &Head,
    left_to_roster: bool,
) -> Option<Probe> {
    let roster = listed.and_then(|entry| entry.identity.probe.as_ref());
    let at = keys.get("probe");
    let Some(at) = at else {
        return not_read(keys, roster, left_to_roster);
    };
    let own = own?;
    let Some(serial) = own.device.serial.clone() else {
        if at.holds("serial") {
            return None;
        }
        at.tell(Problem::error(
            "probe-without-serial",
            &at.place(),
            "the probe has no serial",
            "results belong to the probe, not to the tag: the probe is known by its serial",
            "write the serial as read from the plate: `probe: K2-88` or `serial: K2-88`",
        ));
        return None;
    };
    if let Some(listed) = listed {
        serial_of_another_loop(&at, &serial, listed, head);
    }
    let Some(roster) = roster else {
        return Some(own);
    };
    match &roster.device.serial {
        Some(known) if known.text != serial.text => {
            at.tell(serial_differs(&serial, known));
            Some(own)
        }
        Some(_) | None => Some(complete_probe(&at, own, roster)),
    }
}

/// A visit that leaves the probe to the roster: the serial was not read on site.
fn not_read(keys: &mut Keys<'_>, roster: Option<&Probe>, left_to_roster: bool) -> Option<Probe> {
    let known = roster.filter(|probe| probe.device.serial.is_some());
    let at = keys.at();
    match known {
        Some(probe) => {
            let serial = probe.device.serial.as_ref().map_or("", |text| &text.text);
            at.tell(
                Problem::warning(
                    "serial-not-read",
                    &at.place(),
                    format!("no `probe` is given; the roster has `{serial}`"),
                    "a probe can have been changed since: the roster does not prove which one was measured",
                    format!("read the plate and write the serial: `probe: {serial}`"),
                )
                .about([("serial", Fact::text(serial))]),
            );
            Some(probe.clone())
        }
        None => {
            if !left_to_roster {
                keys.need("probe", "results belong to the probe, known by its serial");
            }
            None
        }
    }
}

fn serial_differs(serial: &Text, known: &Text) -> Problem {
    let hint = match client::look_alike(&serial.text) == client::look_alike(&known.text) {
        true => " (they differ only in capitals, dashes or spaces)",
        false => "",
    };
    Problem::error(
        "serial-differs",
        &serial.place,
        format!("the probe's serial is `{}`, in the roster `{}`{hint}", serial.text, known.text),
        "either another probe is in the loop than the roster says, or one of the two was misread",
        format!(
            "read the plate again. Was the probe changed earlier, correct the roster ({}) or accept `serial-differs` with the \
             reason; was it changed in this visit, `probe:` is the old one and the new one stands at the remedy `probe replaced`",
            known.place
        ),
    ).about([("serial", Fact::text(&serial.text)), ("roster", Fact::text(&known.text))])
    .acceptable()
}

fn serial_of_another_loop(at: &At<'_>, serial: &Text, listed: &RosterLoop, head: &Head) {
    let known = head.client.iter().flat_map(|client| client.with_serial(&serial.text));
    let other = known.into_iter().find(|entry| entry.tag.text != listed.tag.text);
    if let Some(other) = other {
        at.tell(
            Problem::warning(
                "serial-of-another-loop",
                &serial.place,
                format!("the roster knows `{}` as the probe of `{}`", serial.text, other.tag.text),
                "the probe was moved, or the serial was typed from the wrong plate",
                "read the plate again; correct the roster where the probe was moved",
            )
            .about([("serial", Fact::text(&serial.text)), ("tag", Fact::text(&other.tag.text))]),
        );
    }
}

/// The roster's knowledge of the same probe; what the visit says of it is the newer knowledge.
fn complete_probe(at: &At<'_>, own: Probe, roster: &Probe) -> Probe {
    let pairs = [
        ("make", &own.device.make, &roster.device.make),
        ("model", &own.device.model, &roster.device.model),
        ("reference", &own.reference, &roster.reference),
        ("temperature_element", &own.temperature_element, &roster.temperature_element),
    ];
    for (key, here, there) in pairs {
        if let (Some(here), Some(there)) = (here, there)
            && here.text != there.text
        {
            at.tell(Problem::error(
                "probe-contradicts-roster",
                &here.place,
                format!("`{key}` is `{}`, in the roster ({}) `{}`", here.text, there.place, there.text),
                "it is the same probe by its serial, and cannot be both",
                "correct the one that is wrong",
            ));
        }
    }
    Probe {
        device: client::Device {
            make: own.device.make.or_else(|| roster.device.make.clone()),
            model: own.device.model.or_else(|| roster.device.model.clone()),
            serial: own.device.serial,
        },
        reference: own.reference.or_else(|| roster.reference.clone()),
        temperature_element: own.temperature_element.or_else(|| roster.temperature_element.clone()),
        installed: own.installed.or_else(|| roster.installed.clone()),
        junction_renewed: own.junction_renewed.or_else(|| roster.junction_renewed.clone()),
        condition: own.condition.or_else(|| roster.condition.clone()),
    }
}

/// The reference electrode of a probe, where its potential is published.
pub(super) fn electrode(probe: &Option<Probe>) -> Option<ReferenceElectrode> {
    ReferenceElectrode::from_name(&probe.as_ref()?.reference.as_ref()?.text)
}

/// A redox value is read against the probe's reference electrode: without it no standard has a value.
fn redox_reference(keys: &Keys<'_>, identity: &Identity, probe: &Option<Probe>) {
    if let (Some(LoopQuantity::Redox), Some(probe)) = (identity.quantity, probe) {
        reference_of(keys.at(), probe);
    }
}

/// Tells when the reference electrode of a redox probe is missing or has no published potentials.
pub(super) fn reference_of(at: &At<'_>, probe: &Probe) {
    let names = || ReferenceElectrode::ALL.map(ReferenceElectrode::name).join(" \u{b7} ");
    let why =
        "a redox potential is a difference to the reference electrode, and the value of a standard depends on which";
    let Some(reference) = &probe.reference else {
        let place = probe.device.serial.as_ref().map_or_else(|| at.place(), |serial| serial.place.clone());
        at.tell(Problem::error(
            "reference-missing",
            &place,
            "the redox probe has no reference electrode",
            why,
            format!("write it with the probe: `probe: {{serial: …, reference: …}}`, one of: {}", names()),
        ));
        return;
    };
    if ReferenceElectrode::from_name(&reference.text).is_none() {
        // Only a warning where the quantity was not known.
        at.withdraw_where(|told| told.code == "unknown-reference-electrode" && told.place == reference.place);
        at.tell(Problem::error(
            "reference-unknown",
            &reference.place,
            format!("`{}` has no published potentials here", reference.text),
            why,
            client::electrode_fix(&reference.text),
        ));
    }
}
