//! Who it is for, what was checked, who did the work when and where.

use super::Sheet;
use crate::document::print::joined;
use crate::document::{Block, Column, Fact};
use crate::record::{DeviceFacts, ProbeFacts, Quantity};

/// Client, loop and work side by side.
pub(super) fn facts(sheet: &Sheet) -> Block {
    let groups = [("client", client(sheet)), ("loop", measuring_loop(sheet)), ("work", work(sheet))];
    let column = |(heading, facts)| Column { weight: 1, blocks: vec![sheet.heading(heading), Block::Facts(facts)] };
    Block::Columns(groups.map(column).into())
}

fn client(sheet: &Sheet) -> Vec<Fact> {
    let (client, print) = (&sheet.record.client, &sheet.print);
    let mut facts = vec![print.fact("name", &client.name)];
    if !client.address.is_empty() {
        facts.push(print.fact("address", client.address.join(", ")));
    }
    facts.extend(print.fact_if("contact", client.contact.clone()));
    let site = match &sheet.record.measuring_loop.site {
        Some(site) => {
            let name = Some(site.name.clone()).filter(|name| !name.is_empty());
            let address = Some(site.address.join(", ")).filter(|text| !text.is_empty());
            name.into_iter().chain(address).collect()
        }
        None => vec![print.label("not-recorded")],
    };
    facts.push(Fact { label: print.label("field-work"), value: site });
    facts.extend(print.fact_if("order", sheet.record.visit.order.clone()));
    facts
}

/// `Tessaly T40, serial 7F-20417`.
pub(super) fn device(sheet: &Sheet, device: &DeviceFacts) -> String {
    let make = [device.make.clone(), device.model.clone()];
    let make: Vec<String> = make.into_iter().flatten().collect();
    let serial = device.serial.as_ref();
    let serial = serial.map(|serial| sheet.print.say("serial", &[("serial", serial)]));
    joined([Some(make.join(" ")), serial])
}

/// Make, model and serial; then reference, temperature element, since when, and when the junction was renewed.
fn probe(sheet: &Sheet, probe: &ProbeFacts) -> Vec<String> {
    let print = &sheet.print;
    let named = DeviceFacts { make: probe.make.clone(), model: probe.model.clone(), serial: probe.serial.clone() };
    let say = |key: &str, text: &Option<String>| text.as_ref().map(|text| print.say(key, &[("text", text)]));
    let built = joined([
        probe.reference.as_deref().map(|reference| print.electrode(reference)),
        probe.temperature_element.clone(),
        say("since", &print.day_if(&probe.installed)),
        say("junction-renewed", &print.day_if(&probe.junction_renewed)),
    ]);
    let mut lines = vec![device(sheet, &named), built];
    lines.retain(|line| !line.is_empty());
    lines
}

/// What a new probe does not share with the old one; what it shares stands beside the old one.
fn as_far_as_new(left: &ProbeFacts, found: &ProbeFacts) -> ProbeFacts {
    let new = |left: &Option<String>, found: &Option<String>| left.clone().filter(|_| left != found);
    ProbeFacts {
        make: new(&left.make, &found.make),
        model: new(&left.model, &found.model),
        reference: new(&left.reference, &found.reference),
        temperature_element: new(&left.temperature_element, &found.temperature_element),
        ..left.clone()
    }
}

fn measuring_loop(sheet: &Sheet) -> Vec<Fact> {
    let (facts, print) = (&sheet.record.measuring_loop, &sheet.print);
    let analyser = facts.analyser.as_ref().map(|analyser| device(sheet, analyser));
    let named = |key: &str, of: &ProbeFacts| Fact { label: print.label(key), value: probe(sheet, of) };
    let probes = match &facts.probe_left {
        Some(left) => vec![named("probe-found", &facts.probe), named("probe-left", &as_far_as_new(left, &facts.probe))],
        None => vec![named("probe", &facts.probe)],
    };
    let mut out = vec![print.fact("tag", &sheet.record.tag)];
    out.extend(print.fact_if("analyser", analyser));
    out.extend(probes);
    out.extend(print.fact_if("range", range(sheet)));
    out
}

/// `pH 2 to 12, 4–20 mA`.
fn range(sheet: &Sheet) -> Option<String> {
    let (facts, print) = (&sheet.record.measuring_loop, &sheet.print);
    let ends = facts.range.as_ref().map(|range| two_ends(sheet, range));
    let output = facts.output.as_ref().map(|output| print.word("output", output));
    Some(joined([ends, output])).filter(|text| !text.is_empty())
}

/// `pH 6.5 to 8.5` or `−200 to 800 mV`.
pub(super) fn two_ends(sheet: &Sheet, ends: &[String; 2]) -> String {
    let print = &sheet.print;
    match sheet.record.quantity {
        Quantity::Ph => {
            print.say("ph-from-to", &[("low", &print.digits(&ends[0], "pH")), ("high", &print.digits(&ends[1], "pH"))])
        }
        Quantity::Redox => print
            .say("interval-between", &[("low", &print.digits(&ends[0], "mV")), ("high", &print.typed(&ends[1], "mV"))]),
    }
}

fn work(sheet: &Sheet) -> Vec<Fact> {
    let (visit, print) = (&sheet.record.visit, &sheet.print);
    let facts = &sheet.record.measuring_loop;
    let unknown = || print.label("not-recorded");
    // Where several came, the one named for this loop did the work on it.
    let of_loop = |name: &str| facts.by.as_deref().is_none_or(|by| by == name);
    let people: Vec<String> = visit
        .technicians
        .iter()
        .filter(|person| of_loop(&person.name))
        .map(|person| joined([Some(person.name.clone()), person.qualification.clone()]))
        .collect();
    let people = if people.is_empty() { facts.by.iter().cloned().collect() } else { people };
    let procedure = visit.procedure.as_ref().map(|procedure| {
        let revision = procedure.revision.as_ref();
        let revision = revision.map(|revision| print.say("revision", &[("revision", revision)]));
        joined([Some(procedure.name.clone()), revision])
    });
    let hold = facts.hold_from.as_ref().map(|from| {
        let to = facts.hold_to.as_deref();
        let is_that_day = [Some(from.as_str()), to]
            .into_iter()
            .flatten()
            .all(|moment| print.day(moment) == print.day(&visit.started));
        match is_that_day {
            true => print.clocks(from, to),
            false => print.span(from, to),
        }
    });
    vec![
        print.fact("visit", &visit.number),
        print.fact("date", print.span(&visit.started, visit.finished.as_deref())),
        Fact { label: print.label("by"), value: people },
        print.fact("procedure", procedure.unwrap_or_else(unknown)),
        print.fact("hold", hold.unwrap_or_else(unknown)),
    ]
}

/// How the analyser compensates, as left, else as found.
pub(super) fn compensation<'a>(sheet: &Sheet<'a>) -> Option<&'a str> {
    let record = sheet.record;
    let left = record.as_left.as_ref().and_then(|left| left.stored.as_ref());
    let stored = left.into_iter().chain(&record.as_found.stored);
    stored.filter_map(|stored| stored.compensation.as_deref()).next()
}
