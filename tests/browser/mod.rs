//! A real browser without a window, for what only a browser knows: widths, lines, printed pages.
#![allow(dead_code)] // each test crate uses the part it needs

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Names under which the browser may be installed.
const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "chrome"];

/// Flags that keep it quiet, alone and offline.
const FLAGS: [&str; 9] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
];

/// Which colours the person has asked the browser for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scheme {
    /// Dark; the number is the browser's own.
    Dark = 0,
    /// Light.
    Light = 1,
}

/// A browser with an empty profile in a folder of its own.
pub struct Browser {
    name: &'static str,
    folder: PathBuf,
}

impl Browser {
    /// The browser; none, with a word printed, where none is installed. In CI one must be.
    pub fn find(folder: &str) -> Option<Browser> {
        let answers =
            |name: &&str| Command::new(name).arg("--version").output().is_ok_and(|answer| answer.status.success());
        let found = NAMES.into_iter().find(answers);
        if found.is_none() {
            assert!(std::env::var_os("CI").is_none(), "in CI a browser must be installed: {NAMES:?}");
            eprintln!("SKIPPED: no browser is installed ({NAMES:?})");
        }
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(folder);
        let _ = std::fs::remove_dir_all(folder.join("profile"));
        std::fs::create_dir_all(&folder).expect("the target folder can be written");
        found.map(|name| Browser { name, folder })
    }

    /// Writes a page beside the profile.
    pub fn write(&self, name: &str, page: &str) -> PathBuf {
        let path = self.folder.join(name);
        std::fs::write(&path, page).expect("the target folder can be written");
        path
    }

    /// Runs `page` and gives what its scripts made of it.
    pub fn dom(&self, page: &Path, scheme: Scheme) -> String {
        let scheme = format!("--blink-settings=preferredColorScheme={}", scheme as u8);
        self.run(&["--dump-dom", "--virtual-time-budget=60000", &scheme], page)
    }

    /// Runs a script that knows `constants` and gives the lines it reports within `<pre>`.
    pub fn report(&self, name: &str, constants: &[(&str, Value)], script: &str, scheme: Scheme) -> String {
        let constants: String = constants.iter().map(|(name, value)| format!("const {name} = {value};\n")).collect();
        let constants = constants.replace('<', "\\u003c");
        let page = format!(
            "<!DOCTYPE html><html lang=\"en\"><title>{name}</title><body><script>{constants}{script}</script></body></html>"
        );
        let dom = self.dom(&self.write(name, &page), scheme);
        let (_, report) = dom.split_once("<pre>").expect("the script reports");
        let (report, _) = report.split_once("</pre>").expect("the report is whole");
        report.to_owned()
    }

    /// Prints `page` into a PDF beside it.
    pub fn print(&self, page: &Path) -> PathBuf {
        let pdf = page.with_extension("pdf");
        let _ = std::fs::remove_file(&pdf);
        let to = format!("--print-to-pdf={}", pdf.display());
        self.run(&[&to, "--no-pdf-header-footer"], page);
        pdf
    }

    fn run(&self, flags: &[&str], page: &Path) -> String {
        let profile = format!("--user-data-dir={}", self.folder.join("profile").display());
        let answer = Command::new(self.name)
            .args(FLAGS)
            .arg(profile)
            .args(flags)
            .arg(page)
            .output()
            .expect("the browser that answered before starts again");
        assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
        String::from_utf8_lossy(&answer.stdout).into_owned()
    }
}
