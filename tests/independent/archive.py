"""Is a PDF fit for the archive (PDF/A-3a, ISO 19005-3) and for everyone (PDF/UA-1, ISO 14289-1)?

    python3 archive.py FILE.pdf ...      one line a failure: file: rules: what; exit 1 when there is one
    python3 archive.py --rules           every rule, and whether it is checked or why it cannot occur

Reads with pikepdf, lxml and fontTools and with a lexer of its own; shares no code with the writer. Stricter than the
standards: whatever is not known here is a failure («only-known»), so that the rules on what never occurs need no judge.
"""

import sys
from pathlib import Path

from archive import judge
from archive.rules import ABSENT, CHECKED


def main(arguments):
    if arguments == ["--rules"]:
        for rule, what in CHECKED.items():
            print(f"{rule}: checked: {what}")
        for rule, why in ABSENT.items():
            print(f"{rule}: cannot occur: {why}")
        return 0
    if not arguments:
        print(__doc__, file=sys.stderr)
        return 2
    failed = 0
    for name in arguments:
        for rules, what in judge(Path(name).read_bytes()):
            print(f"{name}: {rules}: {what}")
            failed += 1
    if not failed:
        print(f"{len(arguments)} files, no failure")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
