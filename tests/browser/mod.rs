//! A real browser without a window, for what only a browser knows: widths, lines, printed pages.

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
    pub fn dom(&self, page: &Path) -> String {
        self.run(&["--dump-dom", "--virtual-time-budget=3000"], page)
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
