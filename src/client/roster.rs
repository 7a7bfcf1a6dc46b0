//! Sites and roster of a client file, and what must agree between their entries.

use super::likeness::tell_look_alikes;
use super::{RosterLoop, Site, address, identity, usual_process};
use crate::problem::{Fact, Problem};
use crate::yaml::{At, Keys, Text, few, nearest};
use chrono_tz::{TZ_VARIANTS, Tz};
use std::collections::{HashMap, HashSet};

/// Sites by short name, and every short name that was declared, faulty entries included.
pub(super) fn sites(at: &At<'_>) -> (Vec<Site>, Vec<Text>) {
    let Some(mut keys) = at.keys("sites by short name like `works: {name: …, address: …}`") else {
        return Default::default();
    };
    let entries = keys.entries();
    keys.finish();
    let names: Vec<Text> = entries.iter().map(|(name, _)| name.clone()).collect();
    let sites = entries.iter().filter_map(|(name, at)| site(&name.text, at)).collect();
    (sites, names)
}

fn site(key: &str, at: &At<'_>) -> Option<Site> {
    let mut keys = at.keys("a site (name, address, time_zone)")?;
    let name = keys
        .need("name", "a certificate says where the work was done (ISO/IEC 17025:2017, 7.8.2.1 c)")
        .and_then(|at| at.text());
    let lines = keys.get("address").map(|at| address(&at)).unwrap_or_default();
    let time_zone = keys.get("time_zone").and_then(|at| time_zone(&at));
    keys.finish();
    Some(Site { key: key.to_owned(), name: name?.text, address: lines, time_zone })
}

/// A name of the IANA time zone database.
fn time_zone(at: &At<'_>) -> Option<Text> {
    let zone = at.name()?;
    if zone.text.parse::<Tz>().is_err() {
        at.tell(Problem::warning(
            "time-zone-name",
            &zone.place,
            format!("found `{}`", zone.text),
            "the IANA time zone database has no such zone; it is printed as typed, and no offset is checked against it",
            match zone_meant(&zone.text) {
                Some(name) => format!("write {name}"),
                None => "write a name by area and city like Europe/London, or UTC".to_owned(),
            },
        ).about([("zone", Fact::text(&zone.text))]));
    }
    Some(zone)
}

/// The zone of a city, or the name that was probably meant.
fn zone_meant(typed: &str) -> Option<&'static str> {
    let names = || TZ_VARIANTS.iter().map(|zone| zone.name());
    let city = typed.replace(' ', "_").to_lowercase();
    let of_city = |name: &&str| name.rsplit('/').next().is_some_and(|last| last.to_lowercase() == city);
    names().find(of_city).or_else(|| nearest(typed, names()))
}

/// The roster; what is wrong between its entries is told as well.
pub(super) fn loops(at: &At<'_>, sites: &[Text]) -> Vec<RosterLoop> {
    let entries = at.list("loops").unwrap_or_default();
    let declared = Declared { sites, names: sites.iter().map(|site| site.text.as_str()).collect() };
    // Room is made once: growing would take several times the memory of a long roster.
    let mut loops: Vec<RosterLoop> = Vec::with_capacity(entries.len());
    loops.extend(entries.iter().filter_map(|entry| roster_loop(entry, &declared)));
    tell_same_tags(at, &loops);
    tell_look_alikes(at, loops.iter().map(|entry| &entry.tag));
    tell_same_probes(at, &loops);
    loops
}

/// The short names of sites, in file order and for look-up.
struct Declared<'s> {
    sites: &'s [Text],
    names: HashSet<&'s str>,
}

fn roster_loop(at: &At<'_>, sites: &Declared<'_>) -> Option<RosterLoop> {
    let mut keys = at.keys("a loop (tag, site, quantity, probe …)")?;
    let tag = keys.need("tag", "the visit finds the loop by its tag").and_then(|at| at.name());
    let site = keys.get("site").and_then(|at| declared_site(&at, sites));
    let mut identity = identity(&mut keys);
    if let Some(mut process) = process_keys(&mut keys) {
        usual_process(&mut process, &mut identity);
        process.finish();
    }
    let limits = keys.get("limits").and_then(|at| at.text());
    let extensions = keys.finish();
    Some(RosterLoop { tag: tag?, site, identity, limits, extensions })
}

fn process_keys<'t>(keys: &mut Keys<'t>) -> Option<Keys<'t>> {
    keys.get("process")?.keys("a process (usual, conductivity)")
}

fn declared_site(at: &At<'_>, Declared { sites, names }: &Declared<'_>) -> Option<Text> {
    let site = at.name()?;
    if names.contains(site.text.as_str()) {
        return Some(site);
    }
    if at.is_full() {
        return None;
    }
    let names = || sites.iter().map(|declared| declared.text.as_str());
    let fix = match (sites.is_empty(), nearest(&site.text, names())) {
        (true, _) => format!("declare it: `sites: {{{}: {{name: …}}}}`", site.text),
        (false, Some(name)) => format!("write {name}"),
        (false, None) => format!("write one of {}, or declare it under `sites:`", few(names())),
    };
    at.tell(Problem::error(
        "unknown-site",
        &site.place,
        format!("found `{}`", site.text),
        "`sites:` of this file does not declare it",
        fix,
    ));
    None
}

/// One tag twice at one site: the visit could not tell which loop is meant. A loop without site may stand at any.
fn tell_same_tags(at: &At<'_>, loops: &[RosterLoop]) {
    // The first entry of a tag, the first without site, and the first at each site.
    let mut seen: HashMap<&str, &RosterLoop> = HashMap::with_capacity(loops.len());
    let mut anywhere: HashMap<&str, &RosterLoop> = HashMap::new();
    let mut at_site: HashMap<(&str, &str), &RosterLoop> = HashMap::with_capacity(loops.len());
    for entry in loops {
        let tag = entry.tag.text.as_str();
        let site = entry.site.as_ref().map(|site| site.text.as_str());
        let first = match site {
            Some(site) => [anywhere.get(tag), at_site.get(&(tag, site))].into_iter().flatten().min_by_key(|e| line(e)),
            None => seen.get(tag),
        };
        if let Some(first) = first.copied() {
            at.tell(same_tag(entry, first));
        }
        seen.entry(tag).or_insert(entry);
        match site {
            Some(site) => at_site.entry((tag, site)).or_insert(entry),
            None => anywhere.entry(tag).or_insert(entry),
        };
    }
}

fn line(entry: &RosterLoop) -> (u32, u32) {
    (entry.tag.place.line, entry.tag.place.column)
}

fn same_tag(entry: &RosterLoop, first: &RosterLoop) -> Problem {
    Problem::error(
        "duplicate-tag",
        &entry.tag.place,
        format!("found the tag `{}` again (first in line {})", entry.tag.text, first.tag.place.line),
        "a visit finds a loop by its tag, which stands for one loop of a site",
        "correct one of the tags, remove one entry, or give each its own `site:`",
    )
}

/// One probe under two tags: it cannot be in both places.
fn tell_same_probes(at: &At<'_>, loops: &[RosterLoop]) {
    let mut seen: HashMap<&str, &RosterLoop> = HashMap::with_capacity(loops.len());
    for entry in loops {
        let Some(own) = entry.serial() else {
            continue;
        };
        let first = *seen.entry(own.text.as_str()).or_insert(entry);
        if std::ptr::eq(first, entry) {
            continue;
        }
        at.tell(
            Problem::warning(
                "serial-twice",
                &own.place,
                format!("found the probe serial `{}`, which `{}` has as well", own.text, first.tag.text),
                "one probe cannot be in two loops",
                "read both plates; if the probe was moved, remove it from the loop it left",
            )
            .about([
                ("serial", Fact::text(&own.text)),
                ("tag", Fact::text(&entry.tag.text)),
                ("other", Fact::text(&first.tag.text)),
            ]),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::client::tests::{Told, error, read, valid, warning};

    fn of_roster(roster: &str) -> Vec<Told> {
        let sites = "client: {name: A}\nsites:\n  works: {name: Works}\n  intake: {name: Intake}\nloops:\n";
        read(&format!("{sites}{roster}")).1
    }

    #[test]
    fn an_undeclared_site_gets_the_nearest() {
        assert_eq!(of_roster("  - {tag: A, site: work}\n"), error("unknown-site", 6, 20, "write works"));
        let fix = "write one of works, intake, or declare it under `sites:`";
        assert_eq!(of_roster("  - {tag: A, site: pumphouse}\n"), error("unknown-site", 6, 20, fix));
        let (_, told) = read("client: {name: A}\nloops:\n  - {tag: A, site: works}\n");
        assert_eq!(told, error("unknown-site", 3, 20, "declare it: `sites: {works: {name: …}}`"));
    }

    #[test]
    fn a_site_with_problems_is_still_declared() {
        let (_, told) = read("client: {name: A}\nsites:\n  works: {address: a}\nloops:\n  - {tag: A, site: works}\n");
        assert_eq!(told, error("missing-key", 3, 10, "add `name: …`"));
    }

    #[test]
    fn the_same_tag_twice_at_one_site_is_refused() {
        let fix = "correct one of the tags, remove one entry, or give each its own `site:`";
        assert_eq!(of_roster("  - {tag: A}\n  - {tag: A}\n"), error("duplicate-tag", 7, 11, fix));
        let told = of_roster("  - {tag: A, site: works}\n  - {tag: A}\n");
        assert_eq!(told, error("duplicate-tag", 7, 11, fix));
        let two = "client: {name: A}\nsites:\n  works: {name: W}\n  intake: {name: I}\nloops:\n  - {tag: A, site: works}\n  - {tag: A, site: intake}\n";
        let entry = valid(two);
        let site = |key| entry.roster_loop("A", key).and_then(|l| l.site.as_ref()).map(|s| s.text.as_str());
        assert_eq!(
            (site(Some("intake")), site(Some("works")), site(None)),
            (Some("intake"), Some("works"), Some("works"))
        );
    }

    #[test]
    fn tags_that_look_alike_are_a_warning() {
        for (first, second) in [("PH-101", "ph-101"), ("PH-101", "PH\u{2013}101"), ("\u{c5}-1", "A\u{30a}-1")] {
            let fix = format!("if one loop is meant, write {first} and remove one entry; if two, rename one");
            let told = of_roster(&format!("  - {{tag: {first}}}\n  - {{tag: {second}}}\n"));
            assert_eq!(told, warning("look-alike-tag", 7, 11, &fix), "{second}");
        }
        assert_eq!(of_roster("  - {tag: PH-101}\n  - {tag: PH-102}\n"), []);
    }

    #[test]
    fn one_probe_under_two_tags_is_a_warning() {
        let told = of_roster("  - {tag: A, probe: K2-88}\n  - {tag: B, probe: {serial: K2-88}}\n");
        let fix = "read both plates; if the probe was moved, remove it from the loop it left";
        assert_eq!(told, warning("serial-twice", 7, 30, fix));
    }

    #[test]
    fn a_time_zone_is_one_of_the_database() {
        let of = |zone: &str| read(&format!("client: {{name: A}}\nsites: {{w: {{name: W, time_zone: {zone}}}}}\n"));
        for zone in ["Europe/London", "America/Argentina/Buenos_Aires", "Etc/GMT+1", "UTC", "CET"] {
            assert_eq!(of(zone).1, [], "{zone}");
        }
        let any = "write a name by area and city like Europe/London, or UTC";
        for (zone, fix) in [
            ("London", "write Europe/London"),
            ("Europe/Londn", "write Europe/London"),
            ("Buenos Aires", "write America/Argentina/Buenos_Aires"),
            ("+01:00", any),
            ("Central works time", any),
        ] {
            let (client, told) = of(zone);
            assert_eq!(told, warning("time-zone-name", 2, 33, fix), "{zone}");
            let kept = client.and_then(|c| c.sites.into_iter().next()).and_then(|s| s.time_zone);
            assert_eq!(kept.map(|z| z.text).as_deref(), Some(zone));
        }
    }

    #[test]
    fn a_loop_has_a_tag() {
        assert_eq!(of_roster("  - {site: works}\n"), error("missing-key", 6, 5, "add `tag: …`"));
    }

    #[test]
    fn unknown_keys_of_a_loop_are_told() {
        let told = of_roster("  - {tag: A, anlayser: {}, process: {usuel: [6, 7]}}\n");
        let found: Vec<_> = told.iter().map(|p| (p.1, p.3, p.4.as_str())).collect();
        assert_eq!(
            found,
            [("unknown-key", 14, "did you mean `analyser`?"), ("unknown-key", 38, "did you mean `usual`?")]
        );
    }
}
