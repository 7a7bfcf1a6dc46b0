//! The codes of all problems: stable, unique, never reused.

/// Every code with one line of description; frozen by a test, printed by the help.
pub const CODES: &[(&str, &str)] = &[
    // the file itself
    (
        "file-too-large",
        "a file is larger than a hand-written one can be",
    ),
    (
        "file-unreadable",
        "a file is missing, a folder or a pipe, or may not be read",
    ),
    (
        "path-outside",
        "a path leads out of the folder of the visit",
    ),
    (
        "path-form",
        "a path is absolute, a web address or not written with forward slashes",
    ),
    ("text-encoding", "a file is not UTF-8"),
    (
        "line-separator",
        "a character that some YAML readers take for a line break",
    ),
    (
        "control-character",
        "a character that no text file should hold",
    ),
    ("empty-file", "a file holds nothing"),
    ("several-documents", "one file holds several documents"),
    (
        "top-level-shape",
        "the top level of a file is not made of keys",
    ),
    ("too-deep", "lists and mappings are nested too deep"),
    (
        "too-many-values",
        "a file holds too many values, aliases counted in full",
    ),
    ("text-too-long", "one value is longer than a text can be"),
    (
        "too-many-problems",
        "a file has more problems than are worth listing",
    ),
    (
        "readings-differ",
        "two YAML readers understand the file differently",
    ),
    // YAML
    ("yaml-tab", "a tab indents a line"),
    ("yaml-unclosed-quote", "a quoted text has no closing quote"),
    (
        "yaml-unclosed-bracket",
        "a bracket is not closed, or closed by another",
    ),
    (
        "yaml-colon-in-text",
        "an unquoted text holds a colon and a space",
    ),
    (
        "yaml-special-start",
        "an unquoted text begins with a character that means something in YAML",
    ),
    (
        "yaml-escape",
        "a backslash in double quotes begins no known escape",
    ),
    ("yaml-text-after-quote", "something follows a closing quote"),
    (
        "yaml-missing-comma",
        "two entries between brackets are not divided by a comma",
    ),
    (
        "yaml-missing-colon",
        "a line among keys holds no colon followed by a space",
    ),
    (
        "yaml-indentation",
        "a line is indented neither like its neighbours nor like their parent",
    ),
    (
        "yaml-alias",
        "an alias names an anchor that does not stand before it",
    ),
    ("yaml-anchor-twice", "two anchors have one name"),
    ("yaml-merge", "a merge key (<<) is used"),
    ("yaml-tag", "a tag (!!x) is used"),
    (
        "yaml-syntax",
        "the file is not well-formed YAML in another way",
    ),
    // shape of the tree
    ("duplicate-key", "a key stands twice in one mapping"),
    ("key-shape", "a key is not a text"),
    (
        "comma-cut-text",
        "a comma cut an unquoted text inside brackets",
    ),
    ("empty-value", "a key has no value"),
    ("missing-key", "a key that must be there is missing"),
    ("unknown-key", "a key that nothing reads"),
    (
        "expected-mapping",
        "keys were expected and something else was found",
    ),
    (
        "expected-list",
        "a list was expected and something else was found",
    ),
    (
        "expected-value",
        "one value was expected, and keys or a list were found",
    ),
    ("expected-pair", "two numbers were expected"),
    // words and texts
    (
        "unknown-word",
        "a word is not one of those that can stand here",
    ),
    ("yes-or-no", "yes or no was expected"),
    ("quoted-yes-or-no", "yes or no stands in quotes"),
    ("blank-text", "a text holds only spaces"),
    (
        "hidden-character",
        "a text holds characters that cannot be seen",
    ),
    (
        "lost-character",
        "a character of a text was lost when the file was saved",
    ),
    ("placeholder-text", "a text is a placeholder such as TBD"),
    (
        "name-shape",
        "a name has spaces at its ends or a line break in it",
    ),
    // numbers
    ("not-a-number", "a number was expected"),
    ("decimal-comma", "a comma is used as decimal sign"),
    ("thousands-separator", "thousands are divided"),
    (
        "number-notation",
        "a number is hexadecimal, octal, binary, sexagesimal or holds underscores",
    ),
    (
        "number-size",
        "a number has too many digits or is beyond any reading",
    ),
    ("not-finite", "a number is not finite"),
    ("bare-point", "a decimal point without a digit on one side"),
    ("dash-for-minus", "a dash stands for the minus sign"),
    ("letter-for-digit", "a letter stands for a digit"),
    (
        "two-numbers",
        "more than one number stands where one is due",
    ),
    ("text-after-number", "words follow a number and its unit"),
    ("wrong-unit", "a unit does not belong to the value"),
    (
        "unit-case",
        "a unit has capital letters for small ones or the reverse",
    ),
    ("unit-spelling", "a unit is spelt in another way"),
    // dates and times
    ("date-format", "a date is not written as year-month-day"),
    ("date-incomplete", "a date has no day"),
    ("ambiguous-date", "a date reads in two ways"),
    ("impossible-date", "a day that does not exist"),
    ("time-format", "a time is not written by the 24-hour clock"),
    ("time-missing", "a day stands where a moment is due"),
    ("time-without-offset", "a time has no offset from UTC"),
    ("impossible-time", "a time that does not exist"),
    (
        "impossible-offset",
        "an offset from UTC that does not exist",
    ),
    (
        "clock-across-midnight",
        "a clock time alone in a visit that ends on another day",
    ),
];
