//! The logo: read once, told by its content, refused when it would run or fetch something.

use super::{Logo, LogoKind};
use crate::problem::Problem;
use crate::source::Folder;
use crate::yaml::At;
use roxmltree::{Document, Node};

/// Largest logo in bytes.
///
/// Source: our own choice: a drawn logo takes some kilobytes, and every document carries it.
const MAX_LOGO_BYTES: u64 = 500_000;

/// First bytes of a PNG file.
///
/// Source: W3C, Portable Network Graphics (PNG) Specification, third edition, 5.2.
const PNG_SIGNATURE: [u8; 8] = [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a];

const SVG_NAMESPACE: &str = "http://www.w3.org/2000/svg";

/// Elements that run, move or embed a page.
const ACTIVE: [&str; 7] = ["script", "foreignObject", "animate", "animateMotion", "animateTransform", "set", "handler"];

/// Why a file is not a logo.
#[derive(Debug)]
struct Refusal {
    code: &'static str,
    what: String,
    why: &'static str,
    fix: &'static str,
}

/// Reads the logo named at `at` in the firm file `file`.
pub(super) fn read(at: &At<'_>, folder: &Folder, file: &str) -> Option<Logo> {
    let path = at.text()?;
    let source = match folder.read_up_to(file, &path.text, MAX_LOGO_BYTES, &path.place) {
        Ok(source) => source,
        Err(problem) => {
            at.tell(problem);
            return None;
        }
    };
    match kind(&source.bytes) {
        Ok(kind) => Some(Logo { name: source.name, kind, bytes: source.bytes }),
        Err(Refusal { code, what, why, fix }) => {
            at.tell(Problem::error(code, &path.place, format!("{what} in `{}`", path.text), why, fix));
            None
        }
    }
}

/// PNG or SVG by content.
fn kind(bytes: &[u8]) -> Result<LogoKind, Refusal> {
    if bytes.starts_with(&PNG_SIGNATURE) {
        return png(bytes).map(|()| LogoKind::Png);
    }
    let text = std::str::from_utf8(bytes).ok().map(|text| text.trim_start_matches('\u{feff}'));
    match text.filter(|text| text.contains("<svg") || text.contains(":svg")) {
        Some(text) => svg(text).map(|()| LogoKind::Svg),
        None => Err(Refusal {
            code: "logo-kind",
            what: format!("found {}", looks_like(bytes)),
            why: "a logo is a drawing (SVG, in UTF-8) or a picture (PNG), told by its content and not by its name",
            fix: "export the logo as SVG or PNG",
        }),
    }
}

/// What the first bytes say.
fn looks_like(bytes: &[u8]) -> &'static str {
    match bytes {
        [] => "nothing",
        [0xff, 0xd8, 0xff, ..] => "a JPEG picture",
        [b'G', b'I', b'F', b'8', ..] => "a GIF picture",
        [b'%', b'P', b'D', b'F', ..] => "a PDF",
        [0x1f, 0x8b, ..] => "a compressed file",
        [b'R', b'I', b'F', b'F', ..] => "a WebP picture",
        _ => "neither SVG nor PNG",
    }
}

/// The first chunk must be a header with a width and a height, and the last one the end.
fn png(bytes: &[u8]) -> Result<(), Refusal> {
    let size =
        |from: usize| bytes.get(from..from + 4).map(|b| b.iter().fold(0u32, |n, byte| n << 8 | u32::from(*byte)));
    let header =
        bytes.get(12..16) == Some(b"IHDR") && size(16).is_some_and(|w| w > 0) && size(20).is_some_and(|h| h > 0);
    let end = bytes.windows(4).rev().take(16).any(|chunk| chunk == b"IEND");
    if header && end {
        return Ok(());
    }
    Err(Refusal {
        code: "logo-damaged",
        what: if header {
            "found a PNG without its end".to_owned()
        } else {
            "found a PNG without its header".to_owned()
        },
        why: "the file is damaged or was cut while it was copied",
        fix: "export the logo again",
    })
}

fn svg(text: &str) -> Result<(), Refusal> {
    let drawing = Document::parse(text).map_err(unreadable)?;
    let root = drawing.root_element();
    if root.tag_name().name() != "svg" || root.tag_name().namespace() != Some(SVG_NAMESPACE) {
        return Err(Refusal {
            code: "logo-kind",
            what: format!("found a drawing that begins with <{}>", root.tag_name().name()),
            why: "an SVG drawing begins with <svg xmlns=\"http://www.w3.org/2000/svg\">",
            fix: "export the logo as plain SVG or as PNG",
        });
    }
    if root.attribute("viewBox").is_none() && (root.attribute("width").is_none() || root.attribute("height").is_none())
    {
        return Err(Refusal {
            code: "logo-without-size",
            what: "found neither viewBox nor width and height".to_owned(),
            why: "the size of the drawing is not known, so it cannot be placed",
            fix: "export the logo with its page fitted to the drawing, or add viewBox=\"0 0 width height\"",
        });
    }
    drawing.root().descendants().try_for_each(harmless)
}

fn unreadable(error: roxmltree::Error) -> Refusal {
    let fix = match error {
        roxmltree::Error::DtdDetected => {
            "remove the <!DOCTYPE …> at its top: it refers to another file and is not needed"
        }
        _ => "open the logo in a drawing program and save it again as plain SVG",
    };
    Refusal {
        code: "logo-damaged",
        what: format!("found SVG that cannot be read ({error})"),
        why: "a damaged drawing would be printed in part or not at all",
        fix,
    }
}

/// Refuses what would run in a browser, or is fetched from elsewhere: a certificate is complete by itself.
fn harmless(node: Node<'_, '_>) -> Result<(), Refusal> {
    let active = |what: String| Refusal {
        code: "logo-active",
        what,
        why: "the drawing becomes part of every document, where nothing may run or move",
        fix: "export the logo as plain SVG, without scripts and animation",
    };
    if node.is_pi() {
        return Err(external("found an instruction <?…?>".to_owned()));
    }
    let name = node.tag_name().name();
    if ACTIVE.iter().any(|element| element.eq_ignore_ascii_case(name)) {
        return Err(active(format!("found <{name}>")));
    }
    if node.is_text() && node.parent().is_some_and(|parent| parent.tag_name().name() == "style") {
        return inside(node.text().unwrap_or_default());
    }
    if name == "text" {
        return Err(Refusal {
            code: "logo-text",
            what: "found <text>".to_owned(),
            why: "its letters would be set in whatever font each reader has, and look different on each machine",
            fix: "convert the texts of the logo to paths",
        });
    }
    for attribute in node.attributes() {
        if attribute.name().get(..2).is_some_and(|start| start.eq_ignore_ascii_case("on")) {
            return Err(active(format!("found the attribute {}", attribute.name())));
        }
        let target = attribute.value().trim();
        let is_link = matches!(attribute.name(), "href" | "src");
        if is_link && !target.starts_with('#') && !is_embedded_picture(target) {
            return Err(external(format!("found a reference to `{}`", cut(target))));
        }
        if attribute.namespace().is_none() {
            inside(attribute.value())?;
        }
    }
    Ok(())
}

fn is_embedded_picture(target: &str) -> bool {
    ["data:image/png;base64,", "data:image/jpeg;base64,"].iter().any(|start| target.starts_with(start))
}

/// A style that fetches something: `@import`, or `url(…)` other than `url(#…)`.
fn inside(style: &str) -> Result<(), Refusal> {
    let lower = style.to_ascii_lowercase();
    let fetches = |rest: &str| !rest.trim_start_matches([' ', '\'', '"']).starts_with('#');
    match lower.contains("@import")
        || lower.contains('\\') && lower.contains('(')
        || lower.split("url(").skip(1).any(fetches)
    {
        true => Err(external(format!("found the style `{}`", cut(style.trim())))),
        false => Ok(()),
    }
}

fn external(what: String) -> Refusal {
    Refusal {
        code: "logo-external",
        what,
        why: "a document is complete by itself and fetches nothing",
        fix: "embed what the drawing refers to, and convert its texts to paths",
    }
}

fn cut(text: &str) -> String {
    let start: String = text.chars().take(40).collect();
    if start.len() < text.len() { format!("{start}…") } else { start }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(inside: &str) -> Vec<u8> {
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" viewBox=\"0 0 9 9\">{inside}</svg>")
            .into_bytes()
    }

    fn refused(bytes: &[u8]) -> (&'static str, &'static str) {
        match kind(bytes) {
            Ok(kind) => panic!("taken as {kind:?}: {}", String::from_utf8_lossy(bytes)),
            Err(refusal) => (refusal.code, refusal.fix),
        }
    }

    /// One white pixel, made with a general-purpose image library.
    const PIXEL: &[u8] = &[
        0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52, 0x00, 0x00,
        0x00, 0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3a, 0x7e, 0x9b, 0x55, 0x00, 0x00, 0x00,
        0x0a, 0x49, 0x44, 0x41, 0x54, 0x78, 0xda, 0x63, 0xf8, 0x0f, 0x00, 0x01, 0x01, 0x01, 0x00, 0x1b, 0xb6, 0xee,
        0x56, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82,
    ];

    #[test]
    fn drawing_and_picture_are_told_by_content() {
        let plain = drawing("<path d=\"M0 0h9v9z\" fill=\"url(#g)\" style=\"stroke:#123\"/>");
        assert!(matches!(kind(&plain), Ok(LogoKind::Svg)));
        let declared = [b"\xef\xbb\xbf<?xml version=\"1.0\" encoding=\"UTF-8\"?><!-- x -->\n".to_vec(), plain].concat();
        assert!(matches!(kind(&declared), Ok(LogoKind::Svg)));
        assert!(matches!(kind(PIXEL), Ok(LogoKind::Png)));
    }

    #[test]
    fn other_files_are_named() {
        for (bytes, what) in [
            (&b"\xff\xd8\xff\xe0"[..], "found a JPEG picture"),
            (b"GIF89a", "found a GIF picture"),
            (b"%PDF-1.7", "found a PDF"),
            (b"", "found nothing"),
            (b"\x1f\x8b\x08", "found a compressed file"),
            (b"<html></html>", "found neither SVG nor PNG"),
        ] {
            let refusal = kind(bytes).expect_err("no logo");
            assert_eq!((refusal.code, refusal.what.as_str()), ("logo-kind", what));
            assert_eq!(refusal.fix, "export the logo as SVG or PNG");
        }
        assert_eq!(refused(b"<html><svg/></html>").0, "logo-kind");
    }

    #[test]
    fn damaged_files_are_refused() {
        assert_eq!(refused(&PIXEL[..30]), ("logo-damaged", "export the logo again"));
        assert_eq!(refused(&PIXEL[..8]), ("logo-damaged", "export the logo again"));
        assert_eq!(refused(b"<svg xmlns=\"http://www.w3.org/2000/svg\"><path>").0, "logo-damaged");
        let (code, fix) = refused(b"<!DOCTYPE svg [<!ENTITY a \"b\">]><svg xmlns=\"http://www.w3.org/2000/svg\"/>");
        assert_eq!((code, &fix[..24]), ("logo-damaged", "remove the <!DOCTYPE …"));
    }

    #[test]
    fn a_drawing_without_size_is_refused() {
        assert_eq!(refused(b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>").0, "logo-without-size");
    }

    #[test]
    fn what_runs_or_moves_is_refused() {
        for inside in [
            "<script>alert(1)</script>",
            "<g><SCRIPT/></g>",
            "<x:script xmlns:x=\"http://www.w3.org/1999/xhtml\"/>",
            "<rect onclick=\"a()\"/>",
            "<rect OnLoad=\"a()\"/>",
            "<foreignObject/>",
            "<animate attributeName=\"x\"/>",
            "<set attributeName=\"href\" to=\"x\"/>",
        ] {
            let (code, fix) = refused(&drawing(inside));
            assert_eq!(
                (code, fix),
                ("logo-active", "export the logo as plain SVG, without scripts and animation"),
                "{inside}"
            );
        }
    }

    #[test]
    fn what_is_fetched_from_elsewhere_is_refused() {
        for inside in [
            "<image xlink:href=\"http://example.com/a.png\"/>",
            "<image href=\"../a.png\"/>",
            "<use href=\"other.svg#a\"/>",
            "<a href=\"javascript:a()\"/>",
            "<image href=\"data:image/svg+xml;base64,AA\"/>",
            "<style>@import 'a.css';</style>",
            "<style><![CDATA[.a{fill:url(http://example.com/a)}]]></style>",
            "<rect style=\"fill: URL( 'a.svg#b')\"/>",
            "<rect style=\"fill: u\\72l(a.svg)\"/>",
            "<rect filter=\"url(a.svg#b)\"/>",
        ] {
            let (code, fix) = refused(&drawing(inside));
            let expected = "embed what the drawing refers to, and convert its texts to paths";
            assert_eq!((code, fix), ("logo-external", expected), "{inside}");
        }
        let styled = [&b"<?xml-stylesheet href=\"a.css\"?>"[..], &drawing("")].concat();
        assert_eq!(refused(&styled).0, "logo-external");
        assert!(kind(&drawing("<use href=\"#a\"/><image href=\"data:image/png;base64,AA\"/>")).is_ok());
    }

    #[test]
    fn letters_in_a_drawing_are_refused() {
        assert_eq!(refused(&drawing("<text>Firm</text>")), ("logo-text", "convert the texts of the logo to paths"));
    }
}
