//! Every problem code with one line of description.

/// Every code with one line of description, in alphabetical order.
///
/// A code is never given another meaning; one that is no longer used does not come back.
pub const CODES: &[(&str, &str)] = &[
    ("accent-colour", "a colour that is not #rrggbb"),
    ("accent-contrast", "a colour too pale on white paper"),
    (
        "accent-unquoted",
        "a colour without quotes, which YAML reads as a comment",
    ),
    (
        "acid-and-bleach",
        "acid and bleach were used one directly after the other",
    ),
    (
        "ambient-off-scale",
        "an ambient temperature at which nobody works: a unit is missing",
    ),
    ("ambiguous-date", "a date reads in two ways"),
    (
        "as-found-not-obtained",
        "there are no readings as found, for a reason given",
    ),
    (
        "as-left-copied",
        "the readings as left equal those as found although something was done",
    ),
    (
        "as-left-missing",
        "the loop was worked on and returned to service without readings as left",
    ),
    (
        "as-left-not-obtained",
        "there are no readings as left, for a reason given",
    ),
    ("bare-point", "a decimal point without a digit on one side"),
    ("blank-text", "a text holds only spaces"),
    (
        "buffer-and-redox",
        "a standard is given as buffer and as redox solution",
    ),
    (
        "buffers-close",
        "the buffers of a state span less than 2 pH",
    ),
    (
        "buffers-too-close",
        "the buffers of a state span less than 1 pH",
    ),
    (
        "certified-temperature-out-of-range",
        "a certificate's temperature outside the published range",
    ),
    (
        "certified-value-far",
        "a certified value more than 0.1 pH from the published one",
    ),
    (
        "certified-value-half",
        "a certified value without its temperature, or the reverse",
    ),
    (
        "certified-value-other-buffer",
        "a certified value that belongs to another buffer",
    ),
    (
        "certified-value-with-table",
        "a certified value beside the bottle's own table",
    ),
    (
        "character-without-glyph",
        "a character that no font of the program has",
    ),
    ("check-empty", "a check holds nothing to compare"),
    (
        "check-not-independent",
        "a check was made in a standard that the readings use as well",
    ),
    (
        "clock-across-midnight",
        "a clock time alone in a visit that ends on another day",
    ),
    (
        "comma-cut-text",
        "a comma cut an unquoted text inside brackets",
    ),
    (
        "condemned-without-reason",
        "a loop was condemned and no reason is given",
    ),
    (
        "conductivity-low",
        "the process is too pure for the usual method",
    ),
    (
        "control-character",
        "a character that no text file should hold",
    ),
    (
        "copied-from-target",
        "every value shown equals its buffer to the last digit",
    ),
    (
        "coverage-factor-not-positive",
        "a coverage factor of 0 or less",
    ),
    (
        "coverage-factor-unusual",
        "a coverage factor outside 1 to 4",
    ),
    (
        "criterion-of-other-quantity",
        "a criterion that the quantity does not have",
    ),
    ("dash-for-minus", "a dash stands for the minus sign"),
    (
        "date-after-visit",
        "a date of the past lies after the visit",
    ),
    ("date-format", "a date is not written as year-month-day"),
    ("date-incomplete", "a date has no day"),
    ("decimal-comma", "a comma is used as decimal sign"),
    (
        "difference-without-reading",
        "a stated difference names a standard that was not read",
    ),
    (
        "due-before-calibrated",
        "an instrument is due before it was calibrated",
    ),
    (
        "due-before-visit",
        "the next due date lies before the visit",
    ),
    ("duplicate-key", "a key stands twice in one mapping"),
    ("duplicate-tag", "one tag stands twice at a site"),
    ("empty-file", "a file holds nothing"),
    ("empty-value", "a key has no value"),
    (
        "expected-list",
        "a list was expected and something else was found",
    ),
    (
        "expected-mapping",
        "keys were expected and something else was found",
    ),
    ("expected-pair", "two numbers were expected"),
    (
        "expected-value",
        "one value was expected, and keys or a list were found",
    ),
    (
        "file-too-large",
        "a file is larger than a hand-written one can be",
    ),
    (
        "file-unreadable",
        "a file is missing, a folder or a pipe, or may not be read",
    ),
    ("finished-before-started", "the visit ends before it begins"),
    ("fonts-not-used", "added fonts are not used yet"),
    ("given-in-both-places", "a key is given in two places"),
    ("glass-in-redox", "a glass resistance in a redox loop"),
    ("glass-polished", "metal polished in a pH loop"),
    ("guard-out-of-range", "a guard band factor outside 0 to 3"),
    (
        "halves-disagree",
        "the slope is not the same over the range",
    ),
    (
        "hidden-character",
        "a text holds characters that cannot be seen",
    ),
    ("hold-ends-before-start", "a hold ends before it begins"),
    (
        "hydrofluoric-acid",
        "a remedy names hydrofluoric acid or a fluoride",
    ),
    ("impossible-date", "a day that does not exist"),
    (
        "impossible-offset",
        "an offset from UTC that does not exist",
    ),
    ("impossible-time", "a time that does not exist"),
    (
        "instrument-calibrated-after-visit",
        "an instrument was calibrated after the visit only",
    ),
    (
        "instrument-not-named",
        "several instruments measure one thing and no reading names one",
    ),
    (
        "instrument-past-due",
        "the calibration of an instrument ran out before the visit",
    ),
    (
        "interval-out-of-range",
        "an interval that is not 1 to 3653 whole days",
    ),
    ("key-shape", "a key is not a text"),
    (
        "language-not-available",
        "documents are made in English only so far",
    ),
    (
        "left-worse-than-found",
        "the slope as left is lower than as found",
    ),
    ("letter-for-digit", "a letter stands for a digit"),
    ("limit-empty", "a criterion without a limit"),
    (
        "limit-not-positive",
        "a magnitude, time or age of 0 or less as a limit",
    ),
    ("limit-reversed", "the lower limit is above the upper one"),
    (
        "limit-word",
        "a limit word that the criterion does not have",
    ),
    (
        "limits-not-yet-in-force",
        "limits come into force after the work",
    ),
    (
        "line-separator",
        "a character that some YAML readers take for a line break",
    ),
    ("logo-active", "a logo with scripts or animation"),
    ("logo-damaged", "a logo that is cut or unreadable"),
    ("logo-external", "a logo that fetches something"),
    ("logo-kind", "a logo that is neither SVG nor PNG"),
    ("logo-text", "a logo with letters instead of paths"),
    ("logo-unusable", "a logo that cannot be drawn"),
    ("logo-without-size", "a logo without size"),
    (
        "look-alike-tag",
        "two tags differ only in case, dash or composition",
    ),
    (
        "loop-of-another-site",
        "a loop belongs to another site than the visit's",
    ),
    (
        "lost-character",
        "a character of a text was lost when the file was saved",
    ),
    (
        "lot-expired",
        "a standard expired before the day of the work",
    ),
    (
        "lot-opened-after-visit",
        "a standard was opened after the day of the work",
    ),
    ("missing-key", "a key that must be there is missing"),
    (
        "mv-off-scale",
        "a potential that no probe of such a loop gives",
    ),
    (
        "name-shape",
        "a name has spaces at its ends or a line break in it",
    ),
    ("negative-resistance", "a resistance below zero"),
    ("negative-time", "a time that passed is below zero"),
    ("no-loop", "the list of loops is empty"),
    ("no-potential", "no reading of a state has a potential"),
    ("no-readings", "a list of readings is empty"),
    ("no-signature", "an empty list of signatures"),
    ("no-technician", "the list of technicians is empty"),
    ("not-a-number", "a number was expected"),
    ("not-a-pair", "a point of a trace is not a pair of numbers"),
    (
        "not-a-path",
        "a file is due and the text is no path ending in .yaml",
    ),
    (
        "not-a-visit",
        "the file is a client, kit, limits or firm file",
    ),
    ("not-finite", "a number is not finite"),
    ("nothing-to-accept", "an acceptance that meets no problem"),
    (
        "number-notation",
        "a number is hexadecimal, octal, binary, sexagesimal or holds underscores",
    ),
    (
        "number-size",
        "a number has too many digits or is beyond any reading",
    ),
    (
        "number-used-twice",
        "one number for two documents of a visit",
    ),
    (
        "numbering-brace",
        "a brace that is not closed in the numbering pattern",
    ),
    (
        "numbering-placeholder",
        "an unknown word in the numbering pattern",
    ),
    (
        "numbering-without-visit",
        "a numbering pattern under which numbers would repeat",
    ),
    ("offset-not-observed", "no buffer near pH 7"),
    (
        "one-buffer-only",
        "the readings of a state are in one buffer only",
    ),
    (
        "one-slip-explains",
        "an implausible set that a single slip of the pen would explain",
    ),
    ("opened-after-expiry", "a lot was opened after its last day"),
    (
        "output-current",
        "an output current outside the measuring signal",
    ),
    (
        "output-without-range",
        "an output check and the range of the output is not known",
    ),
    (
        "path-form",
        "a path is absolute, a web address or not written with forward slashes",
    ),
    (
        "path-outside",
        "a path leads out of the folder of the visit",
    ),
    (
        "person-misspelt",
        "a name is nearly one of the firm's people",
    ),
    ("placeholder-text", "a text is a placeholder such as TBD"),
    (
        "probe-contradicts-roster",
        "the visit and the roster say different things of one probe",
    ),
    (
        "probe-without-replacement",
        "a probe is named at a remedy that does not change it",
    ),
    ("probe-without-serial", "a probe has no serial"),
    (
        "process-outside-buffers",
        "the buffers do not enclose the usual process values",
    ),
    (
        "quantity-contradicts-roster",
        "the visit and the roster name different quantities",
    ),
    (
        "quinhydrone-buffer",
        "quinhydrone in something that is no buffer of the kit",
    ),
    (
        "quinhydrone-too-alkaline",
        "quinhydrone in a buffer above pH 8",
    ),
    (
        "quinhydrone-without-buffer",
        "quinhydrone without the buffer it is in",
    ),
    ("quoted-yes-or-no", "yes or no stands in quotes"),
    ("range-empty", "the ends of a range are equal"),
    (
        "range-implausible",
        "a range outside pH -2 to 16 or ±2000 mV",
    ),
    (
        "reading-empty",
        "a reading has neither potential nor value shown",
    ),
    (
        "reading-shared",
        "readings before and after the work are the same lines of the file",
    ),
    (
        "readings-differ",
        "two YAML readers understand the file differently",
    ),
    ("reason-missing", "yes or no stands where a reason is due"),
    (
        "redox-value-and-table",
        "a redox solution with a single value and a table",
    ),
    (
        "redox-value-large",
        "a redox potential outside -1000 to 1500 mV",
    ),
    (
        "redox-value-small",
        "a redox potential in volts where mV are due",
    ),
    (
        "reference-missing",
        "a redox probe has no reference electrode",
    ),
    (
        "reference-unknown",
        "a redox probe's reference electrode has no published potentials",
    ),
    (
        "remedy-before-as-found",
        "a remedy was performed before as found was read",
    ),
    (
        "replaced-by-itself",
        "the new probe has the serial of the old one",
    ),
    (
        "replacement-without-serial",
        "a replacement does not name the new probe",
    ),
    (
        "reproducibility-not-positive",
        "a reproducibility of 0 or less",
    ),
    (
        "required-by-regime",
        "something that the regime of the limits demands is missing",
    ),
    ("response-reversed", "the response is reversed"),
    ("same-serial", "probe and analyser have one serial"),
    (
        "sample-before-taken",
        "a sample was measured before it was taken",
    ),
    (
        "sample-late",
        "a sample was measured more than 15 minutes after it was taken",
    ),
    (
        "serial-differs",
        "the probe's serial differs from the roster's",
    ),
    (
        "serial-not-read",
        "no serial was read; the roster's is taken",
    ),
    (
        "serial-of-another-loop",
        "the roster knows the probe's serial under another tag",
    ),
    (
        "serial-repeated",
        "two loops of the visit have the same probe",
    ),
    ("serial-twice", "one probe stands under two tags"),
    ("several-documents", "one file holds several documents"),
    (
        "shown-missing",
        "a reading of an adjusted loop lacks the value shown",
    ),
    (
        "shown-not-as-stored",
        "the analyser does not show what its stored figures give",
    ),
    (
        "shown-off-scale",
        "a value shown that is off the scale of analysers",
    ),
    (
        "signature-order",
        "a review or authorisation is older than the signature before it",
    ),
    ("signature-twice", "a role listed twice"),
    (
        "signed-before-end",
        "a signature is older than the end of the work",
    ),
    ("signed-twice", "a signature of one meaning is given twice"),
    ("site-misspelt", "a site is nearly one of the client file"),
    (
        "slope-as-fraction",
        "a slope as a fraction where percent is due",
    ),
    (
        "slope-in-millivolts",
        "a slope in mV per pH where percent is due",
    ),
    (
        "slope-not-percent",
        "a slope looks like a fraction or like mV per pH",
    ),
    (
        "standard-key",
        "a key that this kind of standard does not have",
    ),
    (
        "standard-without-kind",
        "a standard is neither buffer nor redox solution",
    ),
    (
        "standardised-to-sample",
        "the analyser was set to a sample: no calibration",
    ),
    (
        "stated-disagrees",
        "a stated figure that the readings do not give",
    ),
    ("table-jump", "an implausible step in a bottle's table"),
    (
        "table-not-rising",
        "temperatures of a bottle's table do not rise",
    ),
    (
        "table-row",
        "a row of a bottle's table that is not two values",
    ),
    (
        "table-too-short",
        "a bottle's table with fewer than two rows",
    ),
    (
        "table-value-out-of-range",
        "an impossible value in a bottle's table",
    ),
    (
        "tag-looks-alike",
        "two tags differ only in what the eye does not see",
    ),
    (
        "tag-not-in-roster",
        "a tag is not in the roster of the client file",
    ),
    ("tag-twice", "a tag stands twice in the visit"),
    ("technician-twice", "a technician stands twice in the visit"),
    (
        "temperature-outside-electrode",
        "a temperature at which the reference electrode is not tabulated",
    ),
    (
        "temperature-outside-standard",
        "a temperature at which the standard has no value",
    ),
    (
        "temperatures-differ",
        "the buffers of a state differ by more than 2 °C",
    ),
    (
        "temperatures-too-far-apart",
        "the buffers of a state differ by more than 10 °C",
    ),
    ("text-after-number", "words follow a number and its unit"),
    ("text-encoding", "a file is not UTF-8"),
    ("text-too-long", "one value is longer than a text can be"),
    ("thousands-separator", "thousands are divided"),
    ("time-format", "a time is not written by the 24-hour clock"),
    ("time-missing", "a day stands where a moment is due"),
    (
        "time-order",
        "times contradict the order as found, remedies, as left",
    ),
    (
        "time-outside-visit",
        "a time lies before or after the visit",
    ),
    ("time-without-offset", "a time has no offset from UTC"),
    (
        "time-zone-name",
        "a time zone that does not look like an IANA name",
    ),
    ("too-deep", "lists and mappings are nested too deep"),
    (
        "too-many-problems",
        "a file has more problems than are worth listing",
    ),
    (
        "too-many-values",
        "a file holds too many values, aliases counted in full",
    ),
    (
        "top-level-shape",
        "the top level of a file is not made of keys",
    ),
    ("trace-not-rising", "the times of a trace do not rise"),
    (
        "two-numbers",
        "more than one number stands where one is due",
    ),
    (
        "uncertainty-not-positive",
        "an expanded uncertainty of 0 or less",
    ),
    (
        "unit-case",
        "a unit has capital letters for small ones or the reverse",
    ),
    ("unit-spelling", "a unit is spelt in another way"),
    (
        "unknown-buffer",
        "a buffer that is not among the published ones",
    ),
    (
        "unknown-electrode",
        "a reference electrode that is not known",
    ),
    ("unknown-instrument", "an instrument is not declared"),
    ("unknown-key", "a key that nothing reads"),
    (
        "unknown-redox-solution",
        "a redox solution that is not among the published ones",
    ),
    (
        "unknown-reference-electrode",
        "a reference electrode without published potential",
    ),
    (
        "unknown-site",
        "a loop names a site that the client file does not declare",
    ),
    ("unknown-standard", "a standard is not declared"),
    ("unknown-tag", "a tag that the file does not have"),
    (
        "unknown-technician",
        "a person is not among the technicians of the visit",
    ),
    (
        "unknown-word",
        "a word is not one of those that can stand here",
    ),
    (
        "usual-reversed",
        "usual process values: the low one is above the high one",
    ),
    ("visit-long", "a visit of more than three days"),
    ("waited-short", "a reading was taken within 30 s"),
    (
        "warn-never-reached",
        "a warn limit at or outside its fail limit",
    ),
    (
        "wrong-instrument",
        "a reading names an instrument for something else",
    ),
    ("wrong-kind-of-file", "a file of another kind is named"),
    (
        "wrong-standard",
        "a pH buffer in a redox loop or the reverse",
    ),
    ("wrong-unit", "a unit does not belong to the value"),
    (
        "yaml-alias",
        "an alias names an anchor that does not stand before it",
    ),
    ("yaml-anchor-twice", "two anchors have one name"),
    (
        "yaml-colon-in-text",
        "an unquoted text holds a colon and a space",
    ),
    (
        "yaml-escape",
        "a backslash in double quotes begins no known escape",
    ),
    (
        "yaml-indentation",
        "a line is indented neither like its neighbours nor like their parent",
    ),
    ("yaml-merge", "a merge key (<<) is used"),
    (
        "yaml-special-start",
        "an unquoted text begins with a character that means something in YAML",
    ),
    (
        "yaml-syntax",
        "the file is not well-formed YAML in another way",
    ),
    ("yaml-tab", "a tab indents a line"),
    ("yaml-tag", "a tag (!!x) is used"),
    ("yaml-text-after-quote", "something follows a closing quote"),
    (
        "yaml-unclosed-bracket",
        "a bracket is not closed, or closed by another",
    ),
    ("yaml-unclosed-quote", "a quoted text has no closing quote"),
    ("yes-or-no", "yes or no was expected"),
];
