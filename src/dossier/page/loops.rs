//! Loops without a certificate, what was used after its last day, and the limits over time.

use super::documents::{limits_name, section};
use super::table::{Table, document, link, marked_up, said, short};
use super::{Page, RosterLoop, Section, Told};
use crate::dossier::plan::loop_of;
use crate::dossier::told::{DeviationTold, LimitsTold};
use crate::paint::html::markup::words;
use crate::register::Status;
use crate::rounding::prose;
use std::collections::{BTreeMap, BTreeSet};

/// Numbers named of a set of limits before the rest is counted.
const NAMED: usize = 12;

/// Loops of the clients' rosters that have no certificate in force among the documents, with their last one of any time.
pub fn without(page: &Page, rosters: &BTreeMap<String, Vec<RosterLoop>>) -> Section {
    let selection = page.index.order.selection;
    let in_force = page.index.told.iter().filter(|told| told.status == Status::InForce);
    let seen: BTreeSet<_> = in_force.filter_map(|told| loop_of(&told.opened)).collect();
    let names: BTreeMap<String, &str> =
        page.index.told.iter().map(|told| (told.opened.client.to_lowercase(), told.opened.client.as_str())).collect();
    let heads = ["loop", "place", "last-certificate"].map(|key| page.label(key));
    let (mut table, mut count) = (Table::new(page.label("without"), &heads), 0);
    for (client, roster) in rosters {
        if page.has_several_clients() && !roster.is_empty() {
            table.group(names.get(client).copied().unwrap_or(client));
        }
        for entry in roster {
            let is_meant = selection.tags.is_empty() || selection.tags.contains(&entry.tag);
            let name = (client.clone(), entry.tag.clone());
            if !is_meant || seen.contains(&name) {
                continue;
            }
            count += 1;
            let place = [entry.location.as_deref(), entry.site.as_deref()];
            let last = match page.index.plan.last(&name) {
                Some(look) => {
                    let day = page.print.day(&look.day.to_string());
                    page.say("number-of-day", &[("number", &look.number), ("day", &day)])
                }
                None => page.label("no-certificate").to_owned(),
            };
            table.row(&[
                said(&entry.tag),
                said(&place.into_iter().flatten().collect::<Vec<_>>().join(" · ")),
                said(&last),
            ]);
        }
    }
    let markup = if count == 0 { String::new() } else { table.end() };
    let mut section = section(page, "without", count, markup);
    if rosters.is_empty() {
        section.markup = paragraph(page.label("no-roster"));
    }
    section
}

/// Standards and instruments that were used after their last day, with the reason that was given.
pub fn expired(page: &Page) -> Section {
    let told = page.sorted(|told| told.status == Status::InForce && !told.record.deviations.is_empty());
    let heads = ["certificate", "day", "loop", "what", "reason-given"].map(|key| page.label(key));
    let (mut table, mut count) = (Table::new(page.label("expired"), &heads), 0);
    for told in told {
        for deviation in &told.record.deviations {
            count += 1;
            table.row(&[
                marked_up(document(page, told)),
                short(&page.day(told)),
                said(&page.loop_name(told)),
                said(&deviated(page, deviation)),
                said(deviation.reason.as_deref().unwrap_or_else(|| page.label("no-reason"))),
            ]);
        }
    }
    section(page, "expired", count, if count == 0 { String::new() } else { table.end() })
}

/// The sentence of a deviation in the language of the page; as the record has it where its facts are not there.
fn deviated(page: &Page, deviation: &DeviationTold) -> String {
    let due: &[&'static str] = match deviation.code.as_str() {
        "lot-expired" => &["standard", "expires", "day"],
        "opened-after-expiry" => &["opened", "expires"],
        "instrument-past-due" => &["instrument", "due", "day"],
        _ => return prose(&deviation.what),
    };
    let fact = |name: &&'static str| {
        let fact = deviation.facts.get(*name)?.as_object()?;
        let text = |kind: &str| fact.get(kind).and_then(|value| value.as_str());
        Some((*name, text("time").map(|time| page.print.moment(time)).or_else(|| text("text").map(prose))?))
    };
    let Some(facts) = due.iter().map(fact).collect::<Option<Vec<_>>>() else { return prose(&deviation.what) };
    let fill: Vec<(&str, &str)> = facts.iter().map(|(name, text)| (*name, text.as_str())).collect();
    page.print.say(&format!("deviation {}", deviation.code), &fill)
}

/// Documents judged by one file of limits.
#[derive(Default)]
struct Use<'p> {
    days: BTreeSet<&'p str>,
    numbers: Vec<&'p str>,
}

/// The limits that documents in force and those that they replaced were judged by: since when they hold, who approved them, from when to when they were used.
pub fn limits(page: &Page) -> Section {
    let mut uses: BTreeMap<(&LimitsTold, Option<&String>), Use> = BTreeMap::new();
    let judged = |told: &&&Told| told.opened.tag.is_some() && !told.record.limits.name.is_empty();
    let was_in_force = |status: &Status| matches!(status, Status::InForce | Status::Replaced { .. });
    for told in page.sorted(|told| was_in_force(&told.status)).iter().filter(judged) {
        let used = uses.entry((&told.record.limits, told.limits_file.as_ref())).or_default();
        used.days.insert(&told.opened.started);
        used.numbers.push(&told.opened.number);
    }
    let heads =
        ["limits-used", "effective", "approved-by", "decision", "first-used", "last-used", "certificates", "file"];
    let mut table = Table::new(page.label("limits"), &heads.map(|key| page.label(key)));
    let mut names = BTreeSet::new();
    for ((limits, file), used) in &uses {
        let day = |day: Option<&&str>| short(&day.map_or(String::new(), |day| page.print.day(day)));
        let name = match limits.built_in {
            true => page.print.label("limits-built-in"),
            false => limits_name(page, &limits.name, limits.revision.as_deref()),
        };
        let mut markup = file.map_or(String::new(), |file| {
            let label = page.label("limits-file");
            link(file, label, Some(&format!("{label} {file}")))
        });
        if !limits.built_in && !names.insert((&limits.name, &limits.revision)) {
            markup.push_str(" <strong>");
            words(&mut markup, page.label("limits-differ"));
            markup.push_str("</strong>");
        }
        table.row(&[
            said(&name),
            short(&limits.effective.as_deref().map_or(String::new(), |day| page.print.day(day))),
            said(limits.approved_by.as_deref().unwrap_or_default()),
            said(&page.print.decision(&limits.decision)),
            day(used.days.first()),
            day(used.days.last()),
            said(&named(page, &used.numbers)),
            marked_up(markup),
        ]);
    }
    section(page, "limits", uses.len(), if uses.is_empty() { String::new() } else { table.end() })
}

/// `3: A, B, C`; of many the first.
fn named(page: &Page, numbers: &[&str]) -> String {
    let first = numbers.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
    let first = page.print.say("named", &[("name", &numbers.len().to_string()), ("text", &first)]);
    if numbers.len() > NAMED { first + ", …" } else { first }
}

fn paragraph(content: &str) -> String {
    let mut out = String::from("<p>");
    words(&mut out, content);
    out + "</p>\n"
}
