//! The head of a visit: the mapping under `visit:` with the client, the kit and the limits it names.

use super::files::{Files, Kind};
use super::{limits_of::Named, times, zone};
use crate::client::{self, Client, Site};
use crate::firm::{Firm, Person, Procedure};
use crate::kit::{self, Kit};
use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Measured, Moment};
use crate::yaml::{At, Keys, Text, few, nearest};
use std::cell::RefCell;
use std::collections::{BTreeSet, HashSet};

/// What every loop of the visit shares. A part that could not be read is absent and its problem booked.
#[derive(Debug, Default)]
pub(super) struct Head {
    pub(super) number: Option<Text>,
    pub(super) started: Option<Moment>,
    pub(super) finished: Option<Moment>,
    pub(super) client: Option<Client>,
    /// The client file's name relative to the visit's folder; `None` for a client given in the visit.
    pub(super) client_file: Option<String>,
    /// The client file could not be read: what a loop leaves to its roster is not known.
    pub(super) roster_lost: bool,
    pub(super) site: Option<Site>,
    /// Rules of the site's time zone.
    zone: Option<chrono_tz::Tz>,
    pub(super) order: Option<Text>,
    pub(super) kit: Kit,
    /// Whether the kit could be read, so that a name missing in it is a mistake of the loop.
    pub(super) kit_known: bool,
    /// Positions of the standards that readings or checks name, filled while the loops are read.
    pub(super) used: RefCell<BTreeSet<usize>>,
    pub(super) technicians: Vec<Person>,
    technician_names: HashSet<String>,
    pub(super) procedure: Option<Procedure>,
    pub(super) ambient: Option<Measured<Celsius>>,
    pub(super) conditions_note: Option<Text>,
    /// Limits that the visit names.
    pub(super) limits: Option<Named>,
    pub(super) extensions: Vec<(String, String)>,
}

impl Head {
    /// A moment inside the visit; silent when the begin of the visit could not be read.
    pub(super) fn moment(&self, at: &At<'_>, files: &Files) -> Option<Moment> {
        let moment = at.moment_within(self.started.as_ref()?, self.finished.as_ref())?;
        if let Some(zone) = self.zone {
            zone::fits(zone, &moment, files);
        }
        Some(moment)
    }

    /// A technician of the visit, by name.
    pub(super) fn technician(&self, at: &At<'_>) -> Option<Text> {
        let name = at.name()?;
        let known = || self.technicians.iter().map(|person| person.name.text.as_str());
        if self.technicians.is_empty() || self.technician_names.contains(&name.text) || at.is_full() {
            return Some(name);
        }
        let names = few(known());
        let fix = match nearest(&name.text, known()) {
            Some(near) => format!("did you mean `{near}`? The technicians are: {names}"),
            None => format!("one of {names}, or add the person to `technicians:`"),
        };
        at.tell(Problem::error(
            "unknown-technician",
            &at.place(),
            format!("`{}` is not among the technicians of the visit", name.text),
            "the record names everybody who did the work",
            fix,
        ));
        Some(name)
    }
}

/// Reads the mapping under `visit:`; `root` is the top of the file, where standards and instruments may stand too.
pub(super) fn check(at: &At<'_>, root: &mut Keys<'_>, files: &Files, visit: &str, firm: &Firm) -> Head {
    let mut head = Head::default();
    let Some(mut keys) = at.keys("the visit") else {
        return head;
    };
    head.number = keys.need("number", "every document is numbered after its visit").and_then(|at| at.name());
    head.started = keys.need("started", "lots and dates are judged on the day of the work").and_then(|at| at.moment());
    head.finished = keys.get("finished").and_then(|at| at.moment());
    times::visit(&mut head, &keys);
    if let Some(at) = keys.need("client", "a certificate is made out to somebody") {
        read_client(&at, files, visit, &mut head);
    }
    head.site = keys.get("site").and_then(|at| site(&at, head.client.as_ref()));
    head.zone = zone::of_site(head.site.as_ref());
    for moment in [&head.started, &head.finished].into_iter().flatten() {
        // Clock times have the offset of the begin: where that is wrong, each would be told for it.
        head.zone = head.zone.filter(|zone| zone::fits(*zone, moment, files));
    }
    head.order = keys.get("order").and_then(|at| at.text());
    read_kit(&mut keys, root, files, visit, &mut head);
    head.limits = keys.get("limits").and_then(|at| Named::at(&at, visit));
    head.technicians = keys
        .need("technicians", "the record names everybody who did the work")
        .map_or_else(Vec::new, |at| technicians(&at, firm));
    head.technician_names = head.technicians.iter().map(|person| person.name.text.clone()).collect();
    head.procedure = match keys.get("procedure") {
        Some(at) => procedure(&at, &mut head.extensions),
        None => firm.procedure.clone(),
    };
    if let Some(at) = keys.get("conditions") {
        conditions(&at, &mut head);
    }
    let own = keys.finish();
    head.extensions.extend(own);
    head
}

fn read_client(at: &At<'_>, files: &Files, visit: &str, head: &mut Head) {
    if at.is_mapping() {
        head.client = client::check_inline(at);
        return;
    }
    if let Some((name, tree)) = files.load(Kind::Client, visit, at) {
        head.client = client::check(&tree.root());
        head.client_file = Some(name);
    }
    head.roster_lost = head.client.is_none();
}

fn site(at: &At<'_>, client: Option<&Client>) -> Option<Site> {
    let text = at.text()?;
    let sites = client.map_or(&[][..], |client| &client.sites);
    if let Some(site) = client.and_then(|client| client.site(&text.text)) {
        return Some(site.clone());
    }
    let keys = || sites.iter().map(|site| site.key.as_str());
    if let Some(near) = nearest(&text.text, keys()) {
        let names = few(keys());
        at.tell(
            Problem::error(
                "site-misspelt",
                &text.place,
                format!("`{}` is no site of the client file, but nearly one", text.text),
                format!("the sites of the client file are: {names}; anything else is printed as it stands"),
                format!("write `{near}`, or describe the place in other words"),
            )
            .about([("site", Fact::text(&text.text)), ("near", Fact::text(near))])
            .acceptable(),
        );
    }
    Some(Site { key: String::new(), name: text.text, address: Vec::new(), time_zone: None })
}

/// The kit file, or `standards` and `instruments` under `visit:` or at the top of the visit file.
fn read_kit(keys: &mut Keys<'_>, root: &mut Keys<'_>, files: &Files, visit: &str, head: &mut Head) {
    let file = keys.get("kit");
    let parts = [keys.get("standards"), keys.get("instruments"), root.get("standards"), root.get("instruments")];
    let inside = parts[0].is_some() || parts[1].is_some();
    if let Some(at) = file {
        for part in parts.iter().flatten() {
            given_twice(part, &format!("the kit file named in line {}", at.place().line));
        }
        if let Some((_, tree)) = files.load(Kind::Kit, visit, &at)
            && let Some(mut kit) = tree.root().keys("a kit file")
        {
            head.kit_known = true;
            head.kit = kit::check(&mut kit);
            let own = kit.finish();
            head.extensions.extend(own.into_iter().map(|(key, text)| (format!("kit.{key}"), text)));
        }
        return;
    }
    head.kit_known = parts.iter().flatten().all(At::is_mapping);
    if inside {
        for part in parts[2..].iter().flatten() {
            given_twice(part, "`visit:`");
        }
        head.kit = kit::check(keys);
    } else {
        head.kit = kit::check(root);
    }
}

fn given_twice(part: &At<'_>, other: &str) {
    part.tell(Problem::error(
        "given-in-both-places",
        &part.place(),
        format!("`{}` is given here and in {other}", part.path()),
        "with two sources nobody can tell which one was used",
        "keep one of the two",
    ));
}

fn technicians(at: &At<'_>, firm: &Firm) -> Vec<Person> {
    let Some(list) = at.list("technicians") else {
        return Vec::new();
    };
    if list.is_empty() {
        at.tell(Problem::error(
            "no-technician",
            &at.place(),
            "the list of technicians is empty",
            "the record names everybody who did the work",
            "name at least one: `technicians: [A. Name]`",
        ));
    }
    let mut people: Vec<Person> = Vec::new();
    let mut seen = HashSet::new();
    for at in list.iter().take_while(|at| !at.is_full()) {
        let Some(person) = technician(at, firm, people.len()) else {
            continue;
        };
        if !seen.insert(person.name.text.clone()) {
            at.tell(Problem::error(
                "technician-twice",
                &at.place(),
                format!("`{}` stands twice among the technicians", person.name.text),
                "two people of one name could not be told apart",
                "remove one, or add what tells them apart",
            ));
            continue;
        }
        people.push(person);
    }
    people
}

/// People that come to one visit: names beyond are not searched for slips. Our own choice, far above any visit.
const MANY_PEOPLE: usize = 100;

fn technician(at: &At<'_>, firm: &Firm, before: usize) -> Option<Person> {
    let (name, qualification) = if at.is_mapping() {
        let mut keys = at.keys("a person")?;
        let name = keys.need("name", "a person is known by name").and_then(|at| at.name());
        let qualification = keys.get("qualification").and_then(|at| at.text());
        keys.finish();
        (name?, qualification)
    } else {
        (at.name()?, None)
    };
    if before < MANY_PEOPLE {
        misspelt_person(at, &name, firm);
    }
    let listed = firm.people.iter().find(|person| person.name.text == name.text);
    let qualification = qualification.or_else(|| listed?.qualification.clone());
    Some(Person { name, qualification })
}

/// Warns of a name that is nearly one of the firm's people.
pub(super) fn misspelt_person(at: &At<'_>, name: &Text, firm: &Firm) {
    let people = || firm.people.iter().map(|person| person.name.text.as_str());
    if people().any(|other| other == name.text) {
        return;
    }
    if let Some(near) = nearest(&name.text, people()) {
        at.tell(
            Problem::warning(
                "person-misspelt",
                &name.place,
                format!("`{}` is not among the people of the firm file, but nearly", name.text),
                "a record names a person in one way only",
                format!("write `{near}`, or add the person to the firm file"),
            )
            .about([("name", Fact::text(&name.text)), ("near", Fact::text(near))]),
        );
    }
}

fn procedure(at: &At<'_>, kept: &mut Vec<(String, String)>) -> Option<Procedure> {
    let mut keys = at.keys("a procedure")?;
    let name = keys.need("name", "a procedure is known by its name").and_then(|at| at.text());
    let revision = keys.get("revision").and_then(|at| at.text());
    let own = keys.finish();
    kept.extend(own.into_iter().map(|(key, text)| (format!("procedure.{key}"), text)));
    Some(Procedure { name: name?, revision })
}

fn conditions(at: &At<'_>, head: &mut Head) {
    let Some(mut keys) = at.keys("conditions (ambient, note)") else {
        return;
    };
    head.ambient = keys.get("ambient").and_then(|at| ambient(&at));
    head.conditions_note = keys.get("note").and_then(|at| at.text());
    let own = keys.finish();
    head.extensions.extend(own.into_iter().map(|(key, text)| (format!("conditions.{key}"), text)));
}

/// Places where people work on measuring loops: −60 °C to 70 °C. Common practice, no source.
fn ambient(at: &At<'_>) -> Option<Measured<Celsius>> {
    let value = at.number::<Celsius>()?;
    if !(-60.0..=70.0).contains(&value.value) {
        at.tell(Problem::error(
            "ambient-off-scale",
            &value.place,
            format!("`{}` as the ambient temperature", value.text),
            "nobody works below −60 °C or above 70 °C",
            "give it in °C, or with its unit: `14 °C`, `57 °F`, `287 K`",
        ));
    }
    Some(value)
}
