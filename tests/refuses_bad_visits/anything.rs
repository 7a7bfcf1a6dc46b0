//! Whatever stands in the file: nothing panics, and a visit is refused only with a reason.

use crate::base::{Folder, VISIT, line_of};
use halfcell::problem::Severity;
use halfcell::visit::{Given, open};

/// Opens the text; a refused visit has an error that explains it, an opened one has none that would refuse it.
fn holds(folder: &Folder, text: &str) {
    let path = folder.write("visits/visit.yaml", text);
    let opened = open(&path, &Given::default());
    let refuses = |it: &&halfcell::problem::Problem| it.severity == Severity::Error && !it.acceptable;
    let errors: Vec<_> = opened.problems.iter().filter(refuses).map(line_of).collect();
    assert_eq!(opened.visit.is_none(), !errors.is_empty(), "{text}\n{}", errors.join("\n"));
    for problem in &opened.problems {
        let told = [&problem.what, &problem.why, &problem.fix];
        assert!(told.iter().all(|part| !part.is_empty()), "{}", line_of(problem));
        assert!(problem.code.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", problem.code);
    }
}

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("visits/photos/bulb.jpg", "a photo");
    folder
}

#[test]
fn a_visit_cut_anywhere_is_refused_or_read() {
    let folder = folder();
    for (cut, _) in VISIT.char_indices().step_by(7) {
        holds(&folder, &VISIT[..cut]);
    }
}

#[test]
fn a_visit_without_any_one_line_is_refused_or_read() {
    let folder = folder();
    let lines: Vec<&str> = VISIT.lines().collect();
    for gone in 0..lines.len() {
        let rest: Vec<&str> = lines.iter().enumerate().filter(|(i, _)| *i != gone).map(|(_, line)| *line).collect();
        holds(&folder, &rest.join("\n"));
    }
}

#[test]
fn any_value_may_be_anything() {
    let folder = folder();
    let ends = |text: &str| text.find([',', '}', ']', '\n']).unwrap_or(text.len());
    for (colon, _) in VISIT.match_indices(": ") {
        let begin = colon + 2;
        let end = begin + ends(&VISIT[begin..]);
        for value in ["[]", "[{}]", "x", "-1", "1e300", "0", "2026-04-17"] {
            holds(&folder, &format!("{}{value}{}", &VISIT[..begin], &VISIT[end..]));
        }
    }
}
