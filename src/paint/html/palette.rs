//! The inks of the page as CSS colours, on white paper and on a dark screen.

use super::markup::Markup;
use crate::document::Ink;
use crate::paint::colours::{TEXT_CONTRAST, colour, contrast};
use std::fmt::Write;
use std::sync::LazyLock;

/// Every ink.
const INKS: [Ink; 11] = [
    Ink::Text,
    Ink::Muted,
    Ink::Grid,
    Ink::Accent,
    Ink::Paper,
    Ink::Pass,
    Ink::Warn,
    Ink::Fail,
    Ink::PassZone,
    Ink::WarnZone,
    Ink::FailZone,
];

/// The inks of a page whose firm has this accent, as variables, and the classes that use them.
pub fn rules(accent: [u8; 3]) -> Markup {
    let mut css = String::with_capacity(4096);
    let mut variables = |before: &str, look: fn(Ink, [u8; 3]) -> [u8; 3], after: &str| {
        css.push_str(before);
        for ink in INKS {
            let [red, green, blue] = look(ink, accent);
            let _ = write!(css, "--{}:#{red:02x}{green:02x}{blue:02x};", name(ink));
        }
        css.push_str(after);
    };
    variables(":root{\n", colour, "\n}\n");
    variables("@media screen and (prefers-color-scheme:dark){:root{\n", on_dark, "\n} }\n");
    css.push_str(&CLASSES);
    Markup { markup: css }
}

static CLASSES: LazyLock<String> = LazyLock::new(|| {
    let classes = INKS.map(name).map(|ink| {
        format!(".in-{ink}{{fill:var(--{ink})}}.by-{ink}{{stroke:var(--{ink})}}.verdict-{ink}{{--mark:var(--{ink})}}\n")
    });
    classes.concat()
});

/// What an ink is called in the style sheet.
pub fn name(ink: Ink) -> &'static str {
    match ink {
        Ink::Text => "text",
        Ink::Muted => "muted",
        Ink::Grid => "grid",
        Ink::Accent => "accent",
        Ink::Paper => "paper",
        Ink::Pass => "pass",
        Ink::Warn => "warn",
        Ink::Fail => "fail",
        Ink::PassZone => "pass-zone",
        Ink::WarnZone => "warn-zone",
        Ink::FailZone => "fail-zone",
    }
}

/// An ink on a dark screen; text inks reach [`TEXT_CONTRAST`] there too.
fn on_dark(ink: Ink, accent: [u8; 3]) -> [u8; 3] {
    match ink {
        Ink::Text => [0xe6, 0xea, 0xed],
        Ink::Muted => [0xa9, 0xb4, 0xbd],
        Ink::Grid => [0x3b, 0x46, 0x4e],
        Ink::Accent => lightened(accent, on_dark(Ink::Paper, accent)),
        Ink::Paper => [0x15, 0x1b, 0x20],
        Ink::Pass => [0x62, 0xc2, 0x8d],
        Ink::Warn => [0xe2, 0xae, 0x4f],
        Ink::Fail => [0xf2, 0x8b, 0x82],
        Ink::PassZone => [0x22, 0x3c, 0x31],
        Ink::WarnZone => [0x46, 0x39, 0x1c],
        Ink::FailZone => [0x44, 0x24, 0x24],
    }
}

/// `accent`, lightened until it reads well on a dark `paper`: brightened in its own hue as far as it goes, then towards
/// white, in steps of a twentieth.
///
/// Half as much contrast again as text must have: a colour that just reaches it looks dull on a dark screen.
fn lightened(accent: [u8; 3], paper: [u8; 3]) -> [u8; 3] {
    let accent = accent.map(f64::from);
    let highest = accent.into_iter().fold(1.0, f64::max);
    let bright = accent.map(|part| part / highest * 255.0);
    between(accent, bright)
        .chain(between(bright, [255.0; 3]))
        .find(|&light| contrast(light, paper) >= 1.5 * TEXT_CONTRAST)
        .unwrap_or([255; 3])
}

/// Colours from one to another, in steps of a twentieth.
fn between(from: [f64; 3], to: [f64; 3]) -> impl Iterator<Item = [u8; 3]> {
    let part = move |at: usize, step: u32| from[at] + (to[at] - from[at]) * f64::from(step) / 20.0;
    (0..=20).map(move |step| [0, 1, 2].map(|at| part(at, step).round() as u8))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_inks_can_be_read_on_a_dark_screen_whatever_the_accent() {
        for accent in [[0x1d, 0x4a, 0x57], [0; 3], [255; 3], [0, 0, 255], [0x80; 3]] {
            for ink in [Ink::Text, Ink::Muted, Ink::Accent, Ink::Pass, Ink::Warn, Ink::Fail] {
                let found = contrast(on_dark(ink, accent), on_dark(Ink::Paper, accent));
                assert!(found >= TEXT_CONTRAST, "{ink:?} {accent:?}: {found}");
            }
        }
    }
}
