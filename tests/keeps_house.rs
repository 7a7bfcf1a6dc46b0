//! What the project promises about itself: one direction, files of a bearable size, sources named, codes listed, paths in the
//! developers' guide that exist.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &str) -> Vec<PathBuf> {
    let (mut open, mut files) = (vec![root().join(folder)], Vec::new());
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap()
}

/// The top module that a file of `src` belongs to.
fn module(path: &Path) -> String {
    let inside = path.strip_prefix(root().join("src")).unwrap();
    let first = inside.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
    first.trim_end_matches(".rs").to_owned()
}

/// Modules in the order of `lib.rs`.
fn order() -> Vec<String> {
    let lib = text(&root().join("src/lib.rs"));
    let line = |line: &str| Some(line.strip_prefix("pub mod ")?.trim_end_matches(';').to_owned());
    lib.lines().filter_map(line).collect()
}

/// The modules that a text uses, in `use` lines and in paths.
fn used(text: &str) -> BTreeSet<String> {
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    let mut used = BTreeSet::new();
    for line in code {
        for rest in line.split("crate::").skip(1) {
            used.insert(rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    used
}

fn not_above(order: &[String], module: &str, used: &BTreeSet<String>) -> Vec<String> {
    let at = |name: &str| order.iter().position(|known| known == name);
    let own = at(module);
    used.iter().filter(|name| at(name).is_some() && at(name) > own).cloned().collect()
}

#[test]
fn a_module_uses_only_those_above_it() {
    let order = order();
    assert!(order.len() > 15, "{order:?}");
    for path in rust_files("src") {
        let module = module(&path);
        if module != "lib" && module != "main" {
            assert!(order.contains(&module), "{module} is not in lib.rs");
            let below = not_above(&order, &module, &used(&text(&path)));
            assert!(below.is_empty(), "{} uses {below:?}, which stand below it", path.display());
        }
    }
    let wrong = BTreeSet::from(["record".to_owned()]);
    assert_eq!(not_above(&order, "yaml", &wrong), ["record"], "the check could not fail");
}

#[test]
fn no_file_is_longer_than_500_lines() {
    for path in rust_files("src") {
        let lines = text(&path).lines().count();
        assert!(lines <= 500, "{} has {lines} lines", path.display());
    }
}

/// Constants of a text without a `Source:` (or «see …») in the doc comment before them.
fn without_source(text: &str) -> Vec<String> {
    let mut doc = String::new();
    let mut missing = Vec::new();
    for line in text.split("#[cfg(test)]").next().unwrap_or("").lines().map(str::trim) {
        let constant = line.strip_prefix("pub ").unwrap_or(line).strip_prefix("const ");
        let constant = constant.filter(|rest| !rest.starts_with("fn ")).or(line.strip_prefix("pub(super) const "));
        if let Some(rest) = line.strip_prefix("///") {
            doc.push_str(rest);
        } else if let Some(rest) = constant {
            if !doc.contains("Source:") {
                missing.push(rest.split([':', '=']).next().unwrap_or("").to_owned());
            }
            doc.clear();
        } else if !line.starts_with("#[") {
            doc.clear();
        }
    }
    missing
}

#[test]
fn constants_of_reference_and_engine_name_their_source() {
    let rooms = ["reference", "engine"];
    let is_test = |path: &Path| path.ends_with("tests.rs");
    for path in rust_files("src").into_iter().filter(|p| rooms.contains(&module(p).as_str()) && !is_test(p)) {
        let missing: Vec<String> =
            without_source(&text(&path)).into_iter().filter(|name| !matches!(name.trim(), "ALL" | "WORDS")).collect();
        assert!(missing.is_empty(), "{}: no source for {missing:?}", path.display());
    }
    assert_eq!(without_source("/// A number.\nconst A: f64 = 1.0;"), ["A"], "the check could not fail");
}

/// Codes that the source gives to problems: first text after `Problem::error(` or `Problem::warning(`, and the entries of
/// tables that hold codes are listed by hand in `CODES`, which the compiler cannot compare.
fn codes(text: &str) -> Vec<String> {
    let code = text.split("#[cfg(test)]").next().unwrap_or("");
    let mut codes = Vec::new();
    for call in ["Problem::error(", "Problem::warning("] {
        for rest in code.split(call).skip(1) {
            let rest = rest.trim_start();
            if let Some(quoted) = rest.strip_prefix('"') {
                codes.push(quoted.split('"').next().unwrap_or("").to_owned());
            }
        }
    }
    codes
}

#[test]
fn every_code_is_listed_once_with_a_description() {
    let listed: Vec<&str> = halfcell::problem::CODES.iter().map(|(code, _)| *code).collect();
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    listed.iter().for_each(|code| *times.entry(code).or_default() += 1);
    let twice: Vec<_> = times.iter().filter(|(_, times)| **times > 1).collect();
    assert!(twice.is_empty(), "listed twice: {twice:?}");
    let mut sorted = listed.clone();
    sorted.sort_unstable();
    assert_eq!(listed, sorted, "codes stand in alphabetical order");
    for path in rust_files("src") {
        for code in codes(&text(&path)) {
            assert!(listed.contains(&code.as_str()), "{}: the code {code} is not in CODES", path.display());
        }
    }
    let all: String = rust_files("src").iter().map(|path| text(path)).collect();
    for (code, description) in halfcell::problem::CODES {
        assert!(code.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{code}");
        assert!(!description.is_empty(), "{code} has no description");
        assert!(all.matches(&format!("\"{code}\"")).count() > 1, "{code} is listed but never given");
    }
}

#[test]
fn paths_in_the_developers_guide_exist() {
    let guide = text(&root().join("DEVELOPERS.md"));
    let quoted = guide.split('`').skip(1).step_by(2);
    let paths = quoted
        .filter(|word| word.contains('/') && !word.contains([' ', '{', '*', '<', '…', '$']) && !word.starts_with("//"));
    let mut seen = 0;
    for path in paths {
        assert!(root().join(path).exists(), "DEVELOPERS.md names {path}, which does not exist");
        seen += 1;
    }
    assert!(seen > 20, "only {seen} paths found");
}
