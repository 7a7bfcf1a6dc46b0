//! The inks of the page as CSS colours, on white paper and on a dark screen.

use crate::document::Ink;
use crate::paint::colours::{TEXT_CONTRAST, colour, contrast};
use serde::Serialize;

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

/// An ink of the page.
#[derive(Debug, Serialize)]
pub struct Colour {
    /// Name, used in variables and classes.
    name: &'static str,
    /// On white paper and in print, `#rrggbb`.
    light: String,
    /// On a dark screen, `#rrggbb`.
    dark: String,
}

/// The inks of a page whose firm has this accent.
pub fn colours(accent: [u8; 3]) -> Vec<Colour> {
    let hex = |[red, green, blue]: [u8; 3]| format!("#{red:02x}{green:02x}{blue:02x}");
    INKS.into_iter()
        .map(|ink| Colour { name: name(ink), light: hex(colour(ink, accent)), dark: hex(on_dark(ink, accent)) })
        .collect()
}

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
