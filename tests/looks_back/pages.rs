//! The chart pages of `history --out`.

use super::page_tools::{fit, words};
use super::registers::{err, halfcell};
use super::{done, issued, rewrite};
use std::fs;
use std::path::{Path, PathBuf};

fn pages(folder: &Path, names: &[&str], to: &str) -> Vec<PathBuf> {
    let mut arguments = vec!["history", "--quiet", "--out", to];
    arguments.extend(names);
    assert!(done(&arguments, folder).is_empty());
    let files = fs::read_dir(folder.join(to)).unwrap().map(|file| file.unwrap().path());
    let mut files: Vec<PathBuf> = files.collect();
    files.sort();
    files
}

#[test]
fn a_chart_page_is_no_certificate_and_fit_for_the_archive_in_every_language() {
    for (language, title, mark) in [
        ("English", "History of a measuring loop", "no calibration record"),
        ("German", "Verlauf einer Messstelle", "kein Kalibrierprotokoll"),
        ("French", "Historique d’une boucle de mesure", "et non rapport d’étalonnage"),
        ("Spanish", "Historial de un lazo de medida", "no es un registro de calibración"),
    ] {
        let folder = issued(|to| {
            let client = to.join("clients/ebbersand.yaml");
            let text = fs::read_to_string(&client).unwrap();
            let line = text.lines().find(|line| line.starts_with("language:")).unwrap().to_owned();
            rewrite(&client, &line, &format!("language: {language}"));
        });
        let files = pages(folder.path(), &["AT-118", "AT-142", "G12-5513"], "charts");
        assert_eq!(files.len(), 6, "{files:?}");
        let pdfs: Vec<PathBuf> = files.iter().filter(|file| file.extension().unwrap() == "pdf").cloned().collect();
        let html = fs::read_to_string(folder.path().join("charts/history-AT-118-2026-06-16.html")).unwrap();
        assert!(html.contains(title) && html.contains(mark), "{language}");
        assert!(html.contains("Hurdlemere Loop Service") && html.contains("HM-2025-047-AT-118"), "{language}");
        for link in ["src=\"http", "href=\"http", "<link ", "<script src"] {
            assert!(!html.contains(link), "{link}");
        }
        if let Some(pages) = words(folder.path().join("charts/history-AT-118-2026-06-16.pdf").to_str().unwrap()) {
            assert_eq!(pages.len(), 2, "{language}");
            for page in &pages {
                let text: String = page.words.iter().map(|word| word.text.clone() + " ").collect();
                assert!(text.contains(mark), "every page says what it is: {text}");
            }
        }
        if let Some(said) = fit(&pdfs) {
            println!("{language}: {said}");
        }
    }
}

#[test]
fn a_chart_page_has_the_same_bytes_again_and_overwrites_nothing() {
    let folder = issued(|_| {});
    let first: Vec<Vec<u8>> =
        pages(folder.path(), &["AT-118"], "a").iter().map(|file| fs::read(file).unwrap()).collect();
    let again: Vec<Vec<u8>> =
        pages(folder.path(), &["AT-118"], "b").iter().map(|file| fs::read(file).unwrap()).collect();
    assert_eq!(first, again);
    assert_eq!(pages(folder.path(), &["AT-118"], "a").len(), 2, "the same page stands already");
    let html = folder.path().join("a/history-AT-118-2026-06-16.html");
    fs::write(&html, "a person's notes").unwrap();
    let output = halfcell(&["history", "AT-118", "--out", "a"], folder.path());
    assert_eq!(output.status.code(), Some(1));
    assert!(err(&output).contains("is not overwritten"), "{}", err(&output));
    assert_eq!(fs::read_to_string(html).unwrap(), "a person's notes");
    let no_folder = folder.path().join("table.yaml");
    fs::write(&no_folder, "").unwrap();
    assert_eq!(halfcell(&["history", "AT-118", "--out", "table.yaml"], folder.path()).status.code(), Some(2));
}
