//! An error of the parser in the words of these files: what, why, fix.
//!
//! The parser's message only chooses the family; what is shown is read from the lines themselves.

mod layout;

pub(super) use layout::quoted;
use layout::{bracket, colon, indentation, key_and_value, list_beside_key, segment};

use super::lines::Lines;
use crate::problem::{Place, Problem};
use saphyr_parser::ScanError;

/// What is known about an error.
struct Scene<'l> {
    lines: &'l Lines,
    /// Line and column (from 1) where the parser stopped.
    line: u32,
    column: u32,
    message: &'l str,
}

/// What is told about it.
struct Told {
    code: &'static str,
    line: u32,
    column: u32,
    what: String,
    why: &'static str,
    fix: String,
}

/// The problem that made the parser stop.
pub(super) fn explain(file: &str, lines: &Lines, error: &ScanError) -> Problem {
    let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    let scene = Scene {
        lines,
        line: number(error.marker().line()),
        column: number(error.marker().col() + 1),
        message: error.info(),
    };
    let told = depth(&scene)
        .or_else(|| tab(&scene))
        .or_else(|| quote(&scene))
        .or_else(|| special_start(&scene))
        .or_else(|| alias(&scene))
        .or_else(|| list_beside_key(&scene))
        .or_else(|| bracket(&scene))
        .or_else(|| colon(&scene))
        .or_else(|| indentation(&scene))
        .unwrap_or_else(|| Told {
            code: "yaml-syntax",
            line: scene.line,
            column: scene.column,
            what: format!("the file cannot be read as YAML from here: {}", scene.message),
            why: "nothing after this place is understood",
            fix: "put texts with special characters into quotes, and check brackets, quotes and indentation above"
                .to_owned(),
        });
    let place = Place { line: told.line, column: told.column, ..Place::whole(file) };
    Problem::error(told.code, &place, told.what, told.why, told.fix).with_excerpt(lines.line(told.line))
}

/// A text at this place that only the second reader refuses, because a character with a meaning begins it.
pub(super) fn begins_specially(file: &str, lines: &Lines, line: u32, column: u32) -> Option<Problem> {
    let scene = Scene { lines, line, column, message: "block scalar, node content" };
    let told = special_start(&scene)?;
    let place = Place { line, column, ..Place::whole(file) };
    Some(Problem::error(told.code, &place, told.what, told.why, told.fix).with_excerpt(lines.line(line)))
}

/// The parser's own limit, which acts before ours where brackets follow each other without anything between them.
fn depth(scene: &Scene<'_>) -> Option<Told> {
    scene.message.contains("recursion limit").then(|| Told {
        code: "too-deep",
        line: scene.line,
        column: scene.column,
        what: "lists and mappings stand too deep".to_owned(),
        why: "a visit has at most 8 levels",
        fix: "check that this is the right file, and that every bracket is closed".to_owned(),
    })
}

/// The first line that a tab indents, with the numbers of all of them.
pub(super) fn tab_lines(lines: &Lines) -> Vec<u32> {
    let indented_by_tab = |text: &str| {
        let indent = &text[..text.len() - text.trim_start().len()];
        indent.contains('\t') && !text.trim().is_empty()
    };
    lines.numbered().filter(|(_, text)| indented_by_tab(text)).map(|(line, _)| line).collect()
}

fn tab(scene: &Scene<'_>) -> Option<Told> {
    let why = "tabs are of no fixed width, so YAML does not indent by them";
    let text = scene.lines.line(scene.line);
    if let Some(byte) =
        [":\t", "-\t"].iter().find_map(|mark| text.find(mark)).filter(|_| scene.message.contains("whitespace"))
    {
        return Some(Told {
            code: "yaml-tab",
            line: scene.line,
            column: columns(&text[..=byte]) + 1,
            what: "a tab stands where a space is due".to_owned(),
            why,
            fix: "use a space".to_owned(),
        });
    }
    let tabs = tab_lines(scene.lines);
    let is_near = tabs.iter().any(|line| *line <= scene.line && scene.line - line <= 1);
    if !is_near && !scene.message.contains("tab") {
        return None;
    }
    let first = *tabs.first()?;
    let column = scene.lines.line(first).find('\t').map_or(1, |byte| columns(&scene.lines.line(first)[..byte]) + 1);
    let others: Vec<String> = tabs.iter().skip(1).take(10).map(u32::to_string).collect();
    let others = if others.is_empty() { String::new() } else { format!("; so do lines {}", others.join(", ")) };
    Some(Told {
        code: "yaml-tab",
        line: first,
        column,
        what: format!("a tab indents this line{others}"),
        why,
        fix: "use spaces".to_owned(),
    })
}

/// Characters of a piece of a line.
fn columns(text: &str) -> u32 {
    u32::try_from(text.chars().count()).unwrap_or(u32::MAX)
}

fn quote(scene: &Scene<'_>) -> Option<Told> {
    let text = scene.lines.line(scene.line);
    if scene.message.contains("quoted scalar")
        && ["escape", "hexadecimal"].iter().any(|word| scene.message.contains(word))
    {
        return Some(Told {
            code: "yaml-escape",
            line: scene.line,
            column: scene.column,
            what: "this text in double quotes holds a backslash that begins no known escape".to_owned(),
            why: "in double quotes a backslash changes what follows it",
            fix: "use single quotes, or two backslashes".to_owned(),
        });
    }
    if scene.message.contains("quoted scalar") && !scene.message.contains("trailing") {
        let quote = text.chars().nth(scene.column.saturating_sub(1) as usize).unwrap_or('"');
        return Some(Told {
            code: "yaml-unclosed-quote",
            line: scene.line,
            column: scene.column,
            what: format!("the quote {quote} that begins here is not closed before the text must end"),
            why: "all that follows would belong to the text",
            fix: format!(
                "close it with another {quote}; further lines of a quoted text are indented deeper than its key, and in single quotes an apostrophe is written twice"
            ),
        });
    }
    let (_, value) = key_and_value(segment(scene, text))?;
    let quote = value.chars().next().filter(|first| matches!(first, '"' | '\''))?;
    let (inner, after) = value[1..].split_once(quote)?;
    if after.trim().is_empty() || after.trim_start().starts_with([',', '}', ']', '#', ':']) {
        return None;
    }
    let whole = format!("{inner}{quote}{after}");
    Some(Told {
        code: "yaml-text-after-quote",
        line: scene.line,
        column: scene.column,
        what: format!("after the closing quote follows `{}`", after.trim()),
        why: "a text that begins with a quote ends with the next one",
        fix: format!("put the whole text into quotes: {}", quoted(whole.trim_end_matches(quote))),
    })
}

/// Texts that begin with a character that means something else.
fn special_start(scene: &Scene<'_>) -> Option<Told> {
    let text = scene.lines.line(scene.line);
    let (key, value) = key_and_value(segment(scene, text)).unwrap_or(("", text.trim().trim_start_matches("- ")));
    let first = value.chars().next()?;
    let rest_after = |close: char| {
        value
            .split_once(close)
            .is_some_and(|(_, rest)| !rest.trim().is_empty() && !rest.trim_start().starts_with(['#', ',', '}', ']']))
    };
    let is_special = match first {
        '@' | '`' | '%' => true,
        '>' | '|' => scene.message.contains("block scalar"),
        ',' | ']' | '}' | '?' => {
            scene.message.contains("node content")
                || scene.message.contains("bracket")
                || scene.message.contains("mapping keys")
        }
        '*' | '&' => scene.message.contains("anchor"),
        '!' => scene.message.contains("tag") || scene.message.contains("handle"),
        '-' => scene.message.contains("plain scalar cannot start"),
        '[' => rest_after(']'),
        '{' => rest_after('}'),
        _ => false,
    };
    // An alias that only misses its anchor is told as such.
    if !is_special || (first == '*' && !value.contains(' ')) {
        return None;
    }
    let fix = if key.is_empty() { quoted(value) } else { format!("{key}: {}", quoted(value)) };
    Some(Told {
        code: "yaml-special-start",
        line: scene.line,
        column: scene.column,
        what: format!("an unquoted text begins with {first}"),
        why: "in YAML this character does not begin a text",
        fix: format!("put it into quotes: {fix}"),
    })
}

fn alias(scene: &Scene<'_>) -> Option<Told> {
    scene.message.contains("unknown anchor").then(|| Told {
        code: "yaml-alias",
        line: scene.line,
        column: scene.column,
        what: "this alias names an anchor that does not stand before it".to_owned(),
        why: "an alias repeats what an anchor (&name) above has marked",
        fix: "write the values out; a text that begins with * stands in quotes".to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use crate::problem::Problem;

    fn first(text: &str) -> Problem {
        let problems = match crate::yaml::read("visit.yaml", text.as_bytes()) {
            Ok(tree) => tree.problems(),
            Err(problems) => problems,
        };
        problems.into_iter().next().unwrap_or_else(|| panic!("read without a problem: {text}"))
    }

    #[track_caller]
    fn assert_told(text: &str, code: &str, line: u32, column: u32, fix: &str) {
        let problem = first(text);
        assert_eq!(
            (problem.code, problem.place.line, problem.place.column),
            (code, line, column),
            "{text}\n{}",
            problem.long()
        );
        assert!(problem.fix.contains(fix), "{text}\n{}", problem.long());
    }

    #[test]
    fn tabs_that_indent_are_told_with_their_lines() {
        assert_told("visit:\n\tnumber: 1\n\tsite: x\n", "yaml-tab", 2, 1, "use spaces");
        assert!(first("visit:\n\tnumber: 1\n\tsite: x\n").what.contains("so do lines 3"));
        assert_told("visit:\n  a: b\n  \tsite: x\n", "yaml-tab", 3, 3, "use spaces");
    }

    #[test]
    fn unclosed_quotes_are_told_where_they_begin() {
        assert_told("visit:\n  number: \"HM-1\n  site: works\n", "yaml-unclosed-quote", 2, 11, "close it");
        assert_told("visit:\n  number: 'HM-1\n  site: works\n", "yaml-unclosed-quote", 2, 11, "written twice");
        assert_told("visit:\n  remarks: 'it's wet'\n", "yaml-text-after-quote", 2, 16, "\"it's wet\"");
    }

    #[test]
    fn unclosed_brackets_are_told_where_they_open() {
        assert_told("a:\n  - {in: B7, mv: 8.3\n  - {in: B4}\n", "yaml-unclosed-bracket", 2, 5, "close it with }");
        assert_told("a: [1, 2\nb: 3\n", "yaml-unclosed-bracket", 1, 4, "close it with ]");
        assert_told("a: {b: [1, 2", "yaml-unclosed-bracket", 1, 8, "close it with ]");
        assert_told("a: [1, 2}\nb: c\n", "yaml-unclosed-bracket", 1, 4, "close it with ]");
    }

    #[test]
    fn a_colon_in_a_text_gets_the_quoted_line() {
        assert_told("a:\n  note: checked: ok\n", "yaml-colon-in-text", 2, 9, "note: \"checked: ok\"");
        assert_told(
            "a:\n  - {remedy: other, note: checked: ok, x: y}\n",
            "yaml-colon-in-text",
            2,
            27,
            "note: \"checked: ok\"",
        );
    }

    #[test]
    fn a_missing_comma_between_braces_is_told() {
        assert_told("a:\n  - {in: B7 mv: 8.3}\n", "yaml-missing-comma", 2, 10, "write in: B7, mv: 8.3");
    }

    #[test]
    fn a_tab_after_a_colon_is_told() {
        assert_told("a:\tb\n", "yaml-tab", 1, 3, "use a space");
    }

    #[test]
    fn texts_that_begin_with_special_characters_get_quotes() {
        assert_told("a:\n  by: @lee\n", "yaml-special-start", 2, 7, "by: \"@lee\"");
        assert_told("a:\n  by: `lee`\n", "yaml-special-start", 2, 7, "by: \"`lee`\"");
        assert_told("a:\n  by: %lee\n", "yaml-special-start", 2, 7, "by: \"%lee\"");
        assert_told("a:\n  note: > 5 mV\n", "yaml-special-start", 2, 9, "note: \"> 5 mV\"");
        assert_told("a:\n  note: *very dirty\n", "yaml-special-start", 2, 9, "note: \"*very dirty\"");
        assert_told("a:\n  note: [sic] dirty\n", "yaml-special-start", 2, 15, "note: \"[sic] dirty\"");
    }

    #[test]
    fn a_comment_that_swallows_a_bracket_is_told_at_its_mark() {
        let fix = "put the text that holds the # into quotes, or move the comment behind the }";
        assert_told("a:\n  - {in: B7, mv: 8.3 # x, y: z}\n", "yaml-unclosed-bracket", 2, 22, fix);
        assert_told("a:\n  - {in: B7, mv: 8.3 # x}\n  - {in: B4}\n", "yaml-unclosed-bracket", 2, 22, fix);
        // A comment without the bracket explains nothing.
        assert_told("a:\n  - {in: B7, mv: 8.3 # x\n", "yaml-unclosed-bracket", 2, 5, "close it with }");
    }

    #[test]
    fn what_only_the_second_reader_refuses_is_told_alike() {
        for sign in ["|", ">", "?", "-"] {
            let fix = format!("put it into quotes: note: \"{sign}\"");
            assert_told(&format!("a: [{{note: {sign}, x: y}}]\n"), "yaml-special-start", 1, 12, &fix);
            assert_told(&format!("a: [{{x: y, note: {sign}}}]\n"), "yaml-special-start", 1, 18, &fix);
        }
    }

    #[test]
    fn a_key_without_colon_is_told() {
        assert_told("visit:\n  number: 1\n  site works\n  order: 7\n", "yaml-missing-colon", 3, 3, "site: works");
        assert_told("visit:\n  number:HM-1\n  site: works\n", "yaml-missing-colon", 2, 3, "number: HM-1");
    }

    #[test]
    fn wrong_indentation_is_told_at_its_line() {
        assert_told("visit:\n  number: 1\n   site: works\n", "yaml-indentation", 3, 4, "same number of spaces");
        assert_told("visit:\n  number: 1\n site: works\n", "yaml-indentation", 3, 2, "same number of spaces");
        assert_told("loops: - tag: x\n", "yaml-indentation", 1, 8, "next line");
    }

    #[test]
    fn escapes_and_aliases_are_told() {
        assert_told("a: \"C:\\temp\\x\\q\"\n", "yaml-escape", 1, 4, "single quotes");
        assert_told("a: *base\n", "yaml-alias", 1, 4, "write the values out");
    }
}
