//! Brackets, colons and indentation that do not fit.

use super::{Scene, Told, columns};
use crate::yaml::levels;

pub(super) fn bracket(scene: &Scene<'_>) -> Option<Told> {
    let last = scene.lines.numbered().last().map_or(scene.line, |(last, _)| last);
    let at_end = scene.line >= last;
    let here = scene.lines.line(scene.line).chars().nth(scene.column.saturating_sub(1) as usize);
    let open = open_bracket(scene);
    if let Some(told) = open.and_then(|open| comment_in_bracket(scene, open)) {
        return Some(told);
    }
    match (open, here) {
        (Some((line, column, open)), here)
            if line != scene.line
                || (at_end && here.is_none())
                || here.is_some_and(|here| closes_another(open, here)) =>
        {
            Some(Told {
                code: "yaml-unclosed-bracket",
                line,
                column,
                what: format!(
                    "the bracket {open} that opens here is not closed (read as far as line {})",
                    scene.line.min(last)
                ),
                why: "all that follows would belong to it",
                fix: format!("close it with {}", if open == '[' { ']' } else { '}' }),
            })
        }
        (None, Some(']' | '}')) if scene.message.contains("bracket") => Some(Told {
            code: "yaml-unclosed-bracket",
            line: scene.line,
            column: scene.column,
            what: "this bracket closes nothing that is open".to_owned(),
            why: "every closing bracket needs its opening one, [ with ] and { with }",
            fix: "check the brackets of this line and the line above; a bracket in a text needs quotes around the text"
                .to_owned(),
        }),
        (Some(_) | None, _) => None,
    }
}

/// A `#` after the opening bracket: the comment that it begins swallows the rest of the line, the closing bracket with it.
fn comment_in_bracket(scene: &Scene<'_>, (line, column, open): (u32, u32, char)) -> Option<Told> {
    let close = if open == '[' { ']' } else { '}' };
    let text = scene.lines.line(line);
    let inside = text.char_indices().nth(column as usize).map_or(text.len(), |(byte, _)| byte);
    let mut quote = None;
    let mut before = ' ';
    for (byte, character) in text[inside..].char_indices() {
        match (quote, character) {
            (Some(mark), _) if mark == character => quote = None,
            (None, '"' | '\'') if matches!(before, ' ' | '[' | '{' | ',') => quote = Some(character),
            (None, '#') if before == ' ' && text[inside + byte..].contains(close) => {
                let comment = text[inside + byte..].trim_end();
                return Some(Told {
                    code: "yaml-unclosed-bracket",
                    line,
                    column: columns(&text[..inside + byte]) + 1,
                    what: format!("this # begins a comment, and the closing {close} stands in it: `{comment}`"),
                    why: "after a space, a # makes a comment of the rest of its line",
                    fix: format!("put the text that holds the # into quotes, or move the comment behind the {close}"),
                });
            }
            (Some(_) | None, _) => {}
        }
        before = character;
    }
    None
}

fn closes_another(open: char, here: char) -> bool {
    matches!((open, here), ('[', '}') | ('{', ']'))
}

pub(super) fn list_beside_key(scene: &Scene<'_>) -> Option<Told> {
    scene.message.contains("block sequence entries").then(|| Told {
        code: "yaml-indentation",
        line: scene.line,
        column: scene.column,
        what: "a list begins on the line of its key".to_owned(),
        why: "the entries of a list (- …) stand on lines of their own",
        fix: "move the - to the next line, indented by two spaces more than the key; a text that begins with - stands in quotes".to_owned(),
    })
}

pub(super) fn colon(scene: &Scene<'_>) -> Option<Told> {
    let text = scene.lines.line(scene.line);
    let (key, value) = key_and_value(segment(scene, text))?;
    if !(value.contains(": ") || value.ends_with(':')) || value.starts_with(['"', '\'', '[', '{']) {
        return None;
    }
    let column = text.find(value).map_or(scene.column, |byte| columns(&text[..byte]) + 1);
    let (head, tail) = value.split_once(": ").unwrap_or((value, ""));
    if let Some((first, next)) =
        head.rsplit_once(' ').filter(|(_, next)| levels::is_known(next) && open_bracket(scene).is_some())
    {
        return Some(Told {
            code: "yaml-missing-comma",
            line: scene.line,
            column,
            what: format!("between `{first}` and `{next}` stands no comma"),
            why: "entries inside brackets are divided by commas",
            fix: format!("write {key}: {first}, {next}: {tail}"),
        });
    }
    Some(Told {
        code: "yaml-colon-in-text",
        line: scene.line,
        column,
        what: format!("the unquoted text `{value}` holds a colon and a space"),
        why: "a colon and a space divide a key from its value",
        fix: format!("put the text into quotes: {key}: {}", quoted(value)),
    })
}

pub(super) fn indentation(scene: &Scene<'_>) -> Option<Told> {
    let text = scene.lines.line(scene.line);
    let content = text.trim();
    let told = |code, line: u32, what: String, why, fix: String| {
        let indent = scene.lines.line(line).chars().take_while(|c| *c == ' ').count();
        Some(Told { code, line, column: u32::try_from(indent + 1).unwrap_or(1), what, why, fix })
    };
    // The line that lacks a colon is the one where the parser stopped, or the one before.
    let candidates = [scene.line, scene.line.saturating_sub(1)];
    if ["':'", "simple key", "expected key", "mapping values"].iter().any(|family| scene.message.contains(family)) {
        for line in candidates {
            let words = scene.lines.line(line).trim();
            if words.is_empty()
                || words.starts_with(['#', '-', '[', '{', '"', '\'', '}', ']'])
                || words.contains(": ")
                || words.ends_with(':')
            {
                continue;
            }
            let (key, value) = words.split_once([':', '=', ' ']).unwrap_or((words, "\u{2026}"));
            return told(
                "yaml-missing-colon",
                line,
                format!("this line holds no key: `{words}`"),
                "a key is divided from its value by a colon and a space",
                format!("write {}: {}, or put a text of several lines into quotes", key.trim(), value.trim()),
            );
        }
    }
    let families =
        ["mapping values", "expected key", "indentation", "'-' indicator", "document start", "wrongly indented"];
    if !families.iter().any(|family| scene.message.contains(family)) || content.is_empty() {
        return None;
    }
    told(
        "yaml-indentation",
        scene.line,
        "this line is indented neither like its neighbours nor like a line below a key without value".to_owned(),
        "indentation by spaces says what belongs to what",
        "give the keys of one mapping the same number of spaces; a text of several lines that holds a colon stands in quotes".to_owned(),
    )
}

/// The piece of a line around the place: between brackets and commas where it stands inside brackets.
pub(super) fn segment<'t>(scene: &Scene<'_>, text: &'t str) -> &'t str {
    if open_bracket(scene).is_none() {
        let text = text.split(" #").next().unwrap_or(text);
        return text.trim().trim_start_matches("- ").trim();
    }
    let place = text.char_indices().nth(scene.column.saturating_sub(1) as usize).map_or(text.len(), |(byte, _)| byte);
    let start = text[..place].rfind([',', '{', '[']).map_or(0, |byte| byte + 1);
    let end = text[place..].find([',', '}', ']']).map_or(text.len(), |byte| place + byte);
    text[start..end].trim()
}

pub(super) fn key_and_value(segment: &str) -> Option<(&str, &str)> {
    let (key, value) = segment.split_once(": ")?;
    let value = value.trim();
    (!value.is_empty() && !key.trim().is_empty()).then_some((key.trim(), value))
}

/// A text in double quotes; in single quotes where it holds a double quote or a backslash.
pub(in crate::yaml) fn quoted(text: &str) -> String {
    if text.contains(['"', '\\']) { format!("'{}'", text.replace('\'', "''")) } else { format!("\"{text}\"") }
}

/// The innermost bracket that is open where the parser stopped.
fn open_bracket(scene: &Scene<'_>) -> Option<(u32, u32, char)> {
    let mut open: Vec<(u32, u32, char)> = Vec::new();
    let mut quote = None;
    for (line, text) in scene.lines.numbered().take(scene.line as usize) {
        let mut before = ' ';
        for (column, character) in (1..).zip(text.chars()) {
            if line == scene.line && column >= scene.column {
                break;
            }
            let starts = matches!(before, ' ' | '\t' | '[' | '{' | ',' | ':');
            match (quote, character) {
                (Some(mark), _) if mark == character && !(mark == '"' && before == '\\') => quote = None,
                (Some(_), _) => {}
                (None, '"' | '\'') if starts => quote = Some(character),
                (None, '#') if matches!(before, ' ' | '\t') => break,
                (None, '[' | '{') if starts || !open.is_empty() => open.push((line, column, character)),
                (None, ']' | '}') => drop(open.pop()),
                (None, _) => {}
            }
            before = character;
        }
    }
    open.pop()
}
