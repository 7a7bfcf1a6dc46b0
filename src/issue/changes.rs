//! What was changed in the files of a visit, field by field, as a person wrote it.
//!
//! Comes in: the files that a document was made from, and those of the document that replaces it. Goes out: a list of
//! changes. Notes behind `#`, order of keys and layout are no changes.
//!
//! Source: ISO/IEC 17025:2017, 7.8.8.1: any change of information in a report shall be clearly identified.

use crate::record::ChangeFacts;
use crate::source::Source;
use crate::yaml::{self, Outline};

/// Between the steps of a path.
const STEP: &str = " › ";
/// Items of these lists are told apart by this key, and not by their position.
const TOLD_BY: [(&str, &str); 2] = [("loops", "tag"), ("signatures", "role")];

/// The changes between two sets of files that concern a loop; of a summary (`tag` none) all. `uses` says whether the loop uses
/// a standard or an instrument of the kit: those that it does not use are nothing to it.
pub(super) fn changes(
    old: &[Source],
    new: &[Source],
    tag: Option<&str>,
    uses: impl Fn(&str) -> bool,
) -> Vec<ChangeFacts> {
    let pairs = pairs(old, new);
    let all = pairs.into_iter().flat_map(|(old, new)| of_file(old, new));
    all.filter(|change| concerns(&change.steps, tag, &uses)).map(|change| change.facts).collect()
}

/// A change with the steps of its path.
struct Change {
    steps: Vec<String>,
    facts: ChangeFacts,
}

/// Files that stand for one another: the two visits, then those of one name, then what is left in order.
fn pairs<'s>(old: &'s [Source], new: &'s [Source]) -> Vec<(Option<&'s Source>, Option<&'s Source>)> {
    let (mut was, mut is): (Vec<&Source>, Vec<&Source>) = (old.iter().skip(1).collect(), new.iter().skip(1).collect());
    let mut pairs = vec![(old.first(), new.first())];
    was.retain(|source| {
        let Some(at) = is.iter().position(|other| other.name == source.name) else { return true };
        pairs.push((Some(source), Some(is.remove(at))));
        false
    });
    let mut is = is.into_iter();
    pairs.extend(was.into_iter().map(|source| (Some(source), is.next())).collect::<Vec<_>>());
    pairs.extend(is.map(|source| (None, Some(source))));
    pairs
}

fn of_file(old: Option<&Source>, new: Option<&Source>) -> Vec<Change> {
    if old.map(|it| &it.sha256) == new.map(|it| &it.sha256) {
        return Vec::new();
    }
    let Some(file) = new.or(old).map(|it| it.name.clone()) else { return Vec::new() };
    let outline = |source: Option<&Source>| {
        let source = source?;
        yaml::read(&source.name, &source.bytes).ok().map(|tree| tree.outline())
    };
    let mut found = Vec::new();
    walk(&mut Vec::new(), outline(old).as_ref(), outline(new).as_ref(), &mut found);
    let change = |(steps, old, new): (Vec<String>, Option<String>, Option<String>)| Change {
        facts: ChangeFacts { file: file.clone(), field: steps.join(STEP), old, new },
        steps,
    };
    found.into_iter().map(change).collect()
}

type Found = Vec<(Vec<String>, Option<String>, Option<String>)>;

/// Follows both down to the texts.
fn walk(steps: &mut Vec<String>, old: Option<&Outline>, new: Option<&Outline>, found: &mut Found) {
    if old == new {
        return;
    }
    let below: Vec<(String, Option<&Outline>, Option<&Outline>)> = match (old, new) {
        (Some(Outline::Mapping(old)), Some(Outline::Mapping(new))) => keyed(old, new),
        (Some(Outline::Mapping(old)), None) => keyed(old, &[]),
        (None, Some(Outline::Mapping(new))) => keyed(&[], new),
        (Some(Outline::List(old)), Some(Outline::List(new))) => listed(steps, old, new),
        (Some(Outline::List(old)), None) => listed(steps, old, &[]),
        (None, Some(Outline::List(new))) => listed(steps, &[], new),
        (old, new) => {
            found.push((steps.clone(), old.map(short), new.map(short)));
            return;
        }
    };
    for (step, old, new) in below {
        steps.push(step);
        walk(steps, old, new, found);
        steps.pop();
    }
}

type Pairs<'o> = Vec<(String, Option<&'o Outline>, Option<&'o Outline>)>;

fn keyed<'o>(old: &'o [(String, Outline)], new: &'o [(String, Outline)]) -> Pairs<'o> {
    let find = |list: &'o [(String, Outline)], key: &str| list.iter().find(|(name, _)| name == key).map(|(_, it)| it);
    let were = old.iter().map(|(key, value)| (key.clone(), Some(value), find(new, key)));
    let added = new.iter().filter(|(key, _)| find(old, key).is_none());
    were.chain(added.map(|(key, value)| (key.clone(), None, Some(value)))).collect()
}

/// Items of two lists that stand for one another: by the name that tells them apart, else by their place from the beginning
/// or, behind what differs, from the end.
fn listed<'o>(steps: &[String], old: &'o [Outline], new: &'o [Outline]) -> Pairs<'o> {
    let told_by = TOLD_BY.iter().find(|(list, _)| steps.last().is_some_and(|step| step == list));
    if let Some((_, key)) = told_by
        && let (Some(old), Some(new)) = (named(old, key), named(new, key))
    {
        let find =
            |list: &[(&str, &'o Outline)], name: &str| list.iter().find(|(it, _)| *it == name).map(|(_, it)| *it);
        let were = old.iter().map(|(name, value)| ((*name).to_owned(), Some(*value), find(&new, name)));
        let added = new.iter().filter(|(name, _)| find(&old, name).is_none());
        return were.chain(added.map(|(name, value)| ((*name).to_owned(), None, Some(*value)))).collect();
    }
    let begin = old.iter().zip(new).take_while(|(old, new)| old == new).count();
    let (was, is) = (&old[begin..], &new[begin..]);
    let end = was.iter().rev().zip(is.iter().rev()).take_while(|(old, new)| old == new).count();
    let (was, is) = (&was[..was.len() - end], &is[..is.len() - end]);
    let item = |at: usize| ((begin + at + 1).to_string(), was.get(at), is.get(at));
    (0..was.len().max(is.len())).map(item).collect()
}

/// The items with their names, where each has one of its own.
fn named<'o>(list: &'o [Outline], key: &str) -> Option<Vec<(&'o str, &'o Outline)>> {
    let named: Option<Vec<(&str, &Outline)>> = list.iter().map(|item| Some((item.get(key)?.text()?, item))).collect();
    let named = named?;
    let mut names: Vec<&str> = named.iter().map(|(name, _)| *name).collect();
    names.sort_unstable();
    names.dedup();
    (names.len() == named.len()).then_some(named)
}

/// A value in one line.
fn short(value: &Outline) -> String {
    match value {
        Outline::Text(text) => text.clone(),
        Outline::List(items) => items.iter().map(short).collect::<Vec<_>>().join(", "),
        Outline::Mapping(entries) => {
            entries.iter().map(|(key, value)| format!("{key}: {}", short(value))).collect::<Vec<_>>().join(", ")
        }
    }
}

/// Whether a change is anything to a loop: what is said of another loop, or of a standard or an instrument that it does not use,
/// is not.
fn concerns(steps: &[String], tag: Option<&str>, uses: &impl Fn(&str) -> bool) -> bool {
    let Some(tag) = tag else { return true };
    let below = |list: &str| steps.iter().position(|step| step == list).and_then(|at| steps.get(at + 1));
    let is_other_loop = below("loops").is_some_and(|name| name != tag);
    let carried = ["standards", "instruments"].into_iter().find_map(below);
    !is_other_loop && carried.is_none_or(|name| uses(name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(old: &str, new: &str, tag: Option<&str>) -> Vec<String> {
        let source = |text: &str| [Source::new("v.yaml", text.as_bytes().to_vec())];
        let changes = changes(&source(old), &source(new), tag, |name| name == "B7");
        let text = |text: Option<String>| text.unwrap_or_else(|| "–".into());
        changes.into_iter().map(|it| format!("{}: {} → {}", it.field, text(it.old), text(it.new))).collect()
    }

    const VISIT: &str = "visit: {number: V-1}\nloops:\n  - tag: A\n    as_found:\n      - {in: B7, mv: 7.1}\n      - {in: B4, mv: 177.3}\n  - tag: B\n    remarks: none\n";

    #[test]
    fn a_changed_reading_is_told_by_its_place() {
        assert_eq!(
            told(VISIT, &VISIT.replace("177.3", "171.3"), None),
            ["loops › A › as_found › 2 › mv: 177.3 → 171.3"]
        );
    }

    #[test]
    fn notes_layout_and_the_order_of_keys_are_no_changes() {
        let new = VISIT.replace("{in: B7, mv: 7.1}", "{mv: 7.1, in: B7} # first bottle");
        assert_eq!(told(VISIT, &new, None), Vec::<String>::new());
    }

    #[test]
    fn what_is_said_of_another_loop_is_left_out() {
        let new = VISIT.replace("remarks: none", "remarks: some").replace("V-1", "V-2");
        assert_eq!(told(VISIT, &new, Some("A")), ["visit › number: V-1 → V-2"]);
        assert_eq!(told(VISIT, &new, None).len(), 2);
    }

    #[test]
    fn an_inserted_item_does_not_change_those_behind_it() {
        let new =
            VISIT.replace("      - {in: B4, mv: 177.3}", "      - {in: B9, mv: -120}\n      - {in: B4, mv: 177.3}");
        assert_eq!(
            told(VISIT, &new, Some("A")),
            ["loops › A › as_found › 2 › in: – → B9", "loops › A › as_found › 2 › mv: – → -120"]
        );
    }

    #[test]
    fn standards_that_the_loop_does_not_use_are_left_out() {
        let old = "standards:\n  B7: {lot: L1}\n  B4: {lot: L2}\n";
        let new = "standards:\n  B7: {lot: L3}\n  B4: {lot: L4}\n";
        assert_eq!(told(old, new, Some("A")), ["standards › B7 › lot: L1 → L3"]);
    }
}
