//! What was found outside limits, then the documents as they stand.

use super::table::{Table, document, marked_up, said, short, verdict, verdict_word, whole};
use super::{Page, Section, Told, is_open_draft};
use crate::document::Mark;
use crate::paint::html::markup::{element, words};
use crate::paint::html::write_mark;
use crate::record::{BeforeFacts, OutcomeWord, Quantity, Stage};
use crate::register::Status;
use crate::rounding::with_unit;

/// Loops that were found outside their limits: by how much, what was done, and what became of them. The newest first.
pub fn failures(page: &Page) -> Section {
    let is_meant = |told: &Told| told.failed_as_found() && (told.status == Status::InForce || is_open_draft(told));
    let mut failed: Vec<&Told> = page.sorted(is_meant);
    failed.sort_by(|a, b| b.opened.started.cmp(&a.opened.started));
    let mut markup = String::new();
    for told in &failed {
        write_failure(&mut markup, page, told);
    }
    section(page, "failures", failed.len(), markup)
}

fn write_failure(out: &mut String, page: &Page, told: &Told) {
    let mark = match told.opened.as_found.as_deref() {
        Some("conditional fail") => Mark::ConditionalFail,
        Some(_) | None => Mark::Fail,
    };
    out.push_str("<article class=\"verdict verdict-fail\">");
    write_mark(out, mark);
    element(out, "h3", &page.loop_name(told));
    out.push_str("<p class=\"which\">");
    words(out, &page.day(told));
    out.push_str(" · ");
    out.push_str(&document(page, told));
    if is_open_draft(told) {
        out.push_str(" · ");
        words(out, page.label("draft"));
    }
    out.push_str("</p>\n");
    for line in found(page, told) {
        out.push_str("<p class=\"which\">");
        words(out, &line);
        out.push_str("</p>\n");
    }
    element(out, "p", &became(page, told));
    if let Some(line) = look_back(page, told) {
        element(out, "p", &line);
    }
    out.push_str("</article>\n");
}

/// `Slope is 65.2 %, limit 70 to 105 %: fail.`, a line for each criterion outside, as the certificate says it.
fn found(page: &Page, told: &Told) -> Vec<String> {
    let (print, record) = (&page.print, &told.record);
    let outside = record.criteria.iter().filter(|criterion| criterion.stage == Stage::AsFound);
    let governs = |criterion: crate::record::CriterionRecord| {
        let unit = print.word("unit", criterion.unit);
        let outcome = match criterion.outcome {
            OutcomeWord::ConditionalFail => "outcome-conditional-fail",
            OutcomeWord::NotJudged
            | OutcomeWord::Pass
            | OutcomeWord::Warn
            | OutcomeWord::ConditionalPass
            | OutcomeWord::Fail => "outcome-fail",
        };
        print.say(
            "governs",
            &[
                ("name", &print.criterion_said(&criterion, record.quantity.unwrap_or(Quantity::Ph))),
                ("value", &with_unit(&print.criterion_value(&criterion).unwrap_or_default(), &unit)),
                ("bound", &print.label("bound-fail")),
                ("limit", &print.fail_limit(&criterion, &unit).unwrap_or_default()),
                ("outcome", print.words.label(outcome)),
            ],
        )
    };
    outside.filter_map(|criterion| criterion.known()).map(governs).collect()
}

/// What was done, how the loop was left, and whether it went back.
fn became(page: &Page, told: &Told) -> String {
    let (print, record) = (&page.print, &told.record);
    let remedies: Vec<String> = record.remedies.iter().map(|remedy| print.word("remedy", &remedy.remedy)).collect();
    let done = match (remedies.is_empty(), record.measuring_loop.adjusted) {
        (false, _) => page.say("done", &[("remedies", &print.series(&remedies))]),
        (true, true) => page.label("adjusted").to_owned(),
        (true, false) => page.label("nothing-done").to_owned(),
    };
    let left = record.as_left.as_ref().map(|_| {
        let (state, verdict) = (print.label("state-left-title"), verdict_word(page, told.opened.as_left.as_deref()));
        print.say("verdict-title", &[("state", &state), ("verdict", verdict)]) + "."
    });
    let outcome = &record.measuring_loop.outcome;
    let outcome = (!outcome.is_empty()).then(|| print.word("outcome", outcome));
    [Some(done), left, outcome].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// Since when results must be looked at.
fn look_back(page: &Page, told: &Told) -> Option<String> {
    let misled = told.record.criteria.iter().any(|criterion| {
        let name = matches!(criterion.name.as_str(), "as_found_error" | "temperature" | "output");
        name && criterion.stage == Stage::AsFound && criterion.outcome >= OutcomeWord::ConditionalFail
    });
    misled.then(|| match &told.record.measuring_loop.last_good {
        Some(day) => page.print.say("assess-since", &[("day", &page.print.day(day))]),
        None => page.print.label("assess-since-unknown"),
    })
}

/// Every certificate in force, by loop and day.
pub fn in_force(page: &Page) -> Section {
    let told = page.sorted(|told| told.status == Status::InForce);
    let is_kept = told.iter().any(|told| told.opened.keep_until.is_some());
    let mut heads = vec![
        page.label("certificate"),
        page.label("day"),
        page.label("as-found"),
        page.label("as-left"),
        page.label("slope"),
        page.label("offset"),
        page.label("error-found"),
    ];
    if is_kept {
        heads.push(page.label("keep-until"));
    }
    let mut table = Table::new(page.label("in-force"), &heads);
    let mut group = None;
    for told in &told {
        let of = (told.opened.client.to_lowercase(), told.opened.tag.clone());
        if group.as_ref() != Some(&of) {
            table.group(&page.loop_name(told));
            group = Some(of);
        }
        let figures = &told.opened.figures;
        let mut cells = vec![
            marked_up(document(page, told)),
            short(&page.day(told)),
            match told.opened.tag {
                Some(_) => verdict(page, told.opened.as_found.as_deref(), told.record.warned[0]),
                None => said(""),
            },
            match &told.record.as_left {
                Some(_) => verdict(page, told.opened.as_left.as_deref(), told.record.warned[1]),
                None => whole(if told.opened.tag.is_some() { page.print.words.label("not-measured") } else { "" }),
            },
            whole(&moved(page, [figures.found_slope_percent, figures.left_slope_percent], "%")),
            whole(&moved(page, [figures.found_offset_mv, figures.left_offset_mv], "mV")),
            said(&error_found(page, told)),
        ];
        if is_kept {
            cells.push(short(&told.opened.keep_until.as_deref().map_or(String::new(), |day| page.print.day(day))));
        }
        table.row(&cells);
    }
    section(page, "in-force", told.len(), if told.is_empty() { String::new() } else { table.end() })
}

/// `94.6 → 97.0 %`.
fn moved(page: &Page, [found, left]: [Option<f64>; 2], unit: &str) -> String {
    let text = |value: f64| match unit {
        "%" => page.print.fixed(value, 1, ""),
        _ => page.print.signed(value, 1, ""),
    };
    match (found, left) {
        (None, None) => String::new(),
        (Some(one), None) => with_unit(&text(one), unit),
        (None, Some(left)) => format!("→\u{a0}{}", with_unit(&text(left), unit)),
        (Some(found), Some(left)) => format!("{}\u{a0}→\u{a0}{}", text(found), with_unit(&text(left), unit)),
    }
}

/// `+0.18 in B4, limit ±0.20`.
fn error_found(page: &Page, told: &Told) -> String {
    let Some(error) = told.opened.found_error.as_ref() else { return String::new() };
    let decimals = if error.unit.is_empty() { 2 } else { 0 };
    let bounds: Vec<f64> = error.limit.into_iter().collect();
    let decimals = crate::rounding::beside(error.value.abs(), decimals, &bounds);
    let value = page.print.signed(error.value, decimals, &error.unit);
    let value = page.print.say("in-standard", &[("name", &value), ("standard", &error.of)]);
    match error.limit {
        Some(limit) => {
            let limit = page.print.interval(Some(-limit), Some(limit), decimals, &error.unit).unwrap_or_default();
            page.say("with-limit", &[("value", &value), ("limit", &limit)])
        }
        None => value,
    }
}

/// Documents that others replace: by which, and why.
pub fn replaced(page: &Page) -> Section {
    let told = page.sorted(|told| matches!(told.status, Status::Replaced { .. }));
    let heads = ["document", "day", "loop", "replaced-by", "kind", "reason", "requested-by"].map(|key| page.label(key));
    let mut table = Table::new(page.label("replaced"), &heads);
    for told in &told {
        let Status::Replaced { by } = &told.status else { continue };
        let follower = page.by_number.get(by.as_str());
        let of = |of: fn(&Told) -> Option<&str>| said(follower.and_then(|told| of(told)).unwrap_or_default());
        table.row(&[
            marked_up(document(page, told)),
            short(&page.day(told)),
            said(&page.loop_name(told)),
            follower.map_or_else(|| said(by), |told| marked_up(document(page, told))),
            said(&follower.map_or(String::new(), |told| page.print.word("kind", &told.opened.kind))),
            of(|told| told.opened.reason.as_deref()),
            of(|told| told.opened.requested_by.as_deref()),
        ]);
    }
    section(page, "replaced", told.len(), if told.is_empty() { String::new() } else { table.end() })
}

/// Documents that judge what was measured before by other limits.
pub fn re_evaluations(page: &Page) -> Section {
    let told = page.sorted(|told| told.opened.kind == "re-evaluation" && told.folder().is_some());
    let heads = ["document", "day", "loop", "limits-used", "as-found", "as-left", "reason", "requested-by"];
    let mut table = Table::new(page.label("re-evaluations"), &heads.map(|key| page.label(key)));
    for told in &told {
        let before = told.record.certificate.before.iter().find(|before| Some(&before.tag) == told.opened.tag.as_ref());
        let word = |of: fn(&BeforeFacts) -> Option<crate::record::Verdict>| {
            before.and_then(of).map(|verdict| page.print.words.label(crate::document::verdict_mark(Some(verdict)).1))
        };
        let limits = &told.record.limits;
        let old = before.map(|before| limits_name(page, &before.limits, before.limits_revision.as_deref()));
        table.row(&[
            marked_up(document(page, told)),
            short(&page.day(told)),
            said(&page.loop_name(told)),
            said(&changed(old.as_deref(), &limits_name(page, &limits.name, limits.revision.as_deref()))),
            said(&changed(word(|it| it.as_found), verdict_word(page, told.opened.as_found.as_deref()))),
            said(&changed(word(|it| it.as_left), verdict_word(page, told.opened.as_left.as_deref()))),
            said(told.opened.reason.as_deref().unwrap_or_default()),
            said(told.opened.requested_by.as_deref().unwrap_or_default()),
        ]);
    }
    section(page, "re-evaluations", told.len(), if told.is_empty() { String::new() } else { table.end() })
}

/// `“effluent-ph”, revision 3`.
pub fn limits_name(page: &Page, name: &str, revision: Option<&str>) -> String {
    let name = page.print.say("quoted", &[("text", name)]);
    let revision = revision.map(|revision| page.print.say("revision", &[("revision", revision)]));
    [Some(name), revision].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn changed(old: Option<&str>, new: &str) -> String {
    match old {
        Some(old) if old != new => format!("{old} → {new}"),
        Some(_) | None => new.to_owned(),
    }
}

/// Drafts, those first that have not become a document, and signatures that have a name and no time.
pub fn drafts(page: &Page) -> Section {
    let unsigned = |told: &Told| told.status == Status::InForce && !told.record.visit.signatures.is_empty();
    let mut told = page.sorted(|told| matches!(told.status, Status::Draft { .. }) || unsigned(told));
    told.sort_by_key(|told| !is_open_draft(told));
    let heads = ["document", "day", "loop", "state", "awaited"].map(|key| page.label(key));
    let mut table = Table::new(page.label("drafts"), &heads);
    for told in &told {
        let stands_as = told.opened.stands_as().unwrap_or_default();
        let state = match told.status {
            Status::Draft { is_settled: true } => page.say("draft-settled", &[("number", stands_as)]),
            Status::Draft { is_settled: false } => page.say("draft-open", &[("number", stands_as)]),
            Status::InForce | Status::Replaced { .. } | Status::Pending | Status::Void => {
                page.label("stands").to_owned()
            }
        };
        let roles = told.awaited.iter().map(|role| page.print.word("role", role));
        let named = told.record.visit.signatures.iter().map(|signature| {
            let role = page.print.word("role", &signature.role);
            format!("{role} · {}, {}", signature.name, page.print.label("no-time"))
        });
        let awaited: Vec<String> = roles.chain(named).collect();
        table.row(&[
            marked_up(document(page, told)),
            short(&page.day(told)),
            said(&page.loop_name(told)),
            said(&state),
            said(&page.print.series(&awaited)),
        ]);
    }
    let open = told.iter().filter(|told| is_open_draft(told) || unsigned(told)).count();
    section(page, "drafts", open, if told.is_empty() { String::new() } else { table.end() })
}

/// Numbers that were opened and have no document.
pub fn void(page: &Page) -> Section {
    let told = page.sorted(|told| matches!(told.status, Status::Void | Status::Pending));
    let heads = ["number", "day", "loop", "reason"].map(|key| page.label(key));
    let mut table = Table::new(page.label("void"), &heads);
    for told in &told {
        let reason = match page.index.void.get(&told.opened.number) {
            Some(reason) => reason.as_str(),
            None => page.label("pending"),
        };
        table.row(&[said(&told.opened.number), short(&page.day(told)), said(&page.loop_name(told)), said(reason)]);
    }
    section(page, "void", told.len(), if told.is_empty() { String::new() } else { table.end() })
}

/// A section; one without entries says so.
pub fn section(page: &Page, anchor: &'static str, count: usize, mut markup: String) -> Section {
    if markup.is_empty() {
        element(&mut markup, "p", page.label("none"));
    }
    Section { anchor, title: page.label(anchor).to_owned(), count, markup }
}
