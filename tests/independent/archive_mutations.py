"""The checker checked: a document that keeps every rule is broken in one way at a time, and the rule must be named.

    python3 archive_mutations.py         exit 1 when a fault goes unnamed, the sound document is blamed, or a rule is untried
"""

import re
import sys
import zlib

from archive import judge
from archive.rules import ABSENT, CHECKED
from archive_faults.objects import OBJECTS
from archive_faults.sample import build, written
from archive_faults.text import BYTES, CONTENT, XMP
from archive_faults.tree import TREE

# Rules that no small file can break: 8388607 objects.
UNTRIED = {"A 6.1.13-7"}


def packet(pdf, old, new):
    stream = pdf.Root.Metadata
    raw = stream.read_bytes()
    assert old.encode() in raw, old
    stream.write(raw.replace(old.encode(), new if isinstance(new, bytes) else new.encode()))


def content(pdf, page, old, new):
    stream = pdf.pages[page].obj.Contents
    text = zlib.decompress(stream.read_raw_bytes()).decode()
    assert re.search(old, text, re.S), old
    stream.write(re.sub(old, new, text, count=1, flags=re.S).encode())


def broken():
    """Pairs of rules and the bytes that break them, with a word."""
    for rules, old, new in BYTES:
        data = written(build())
        assert old in data, (rules, old)
        yield rules, f"bytes {old[:30]!r} -> {new[:30]!r}", data.replace(old, new, 1)
    for rules, old, new in XMP:
        pdf = build()
        packet(pdf, old, new)
        yield rules, f"packet {old[:40]} -> {new[:40]}", written(pdf)
    for rules, page, old, new in CONTENT:
        pdf = build()
        content(pdf, page, old, new)
        yield rules, f"content {old[:40]} -> {new[:40]}", written(pdf)
    for rules, fault in OBJECTS + TREE:
        pdf = build()
        yield rules, fault.__name__, fault(pdf) or written(pdf)


def main():
    sound = judge(written(build()))
    for rules, what in sound:
        print(f"the sound document is blamed: {rules}: {what}")
    failed, tried, count = len(sound), set(), 0
    for rules, word, data in broken():
        count += 1
        named = {rule for told, _ in judge(data) for rule in told.split(", ")}
        missing = set(rules.split(", ")) - named
        tried |= set(rules.split(", ")) & named
        if missing:
            failed += 1
            print(f"{word}: {sorted(missing)} not named, but {sorted(named)}")
    for rule in sorted(set(CHECKED) - tried - UNTRIED):
        failed += 1
        print(f"no fault breaks {rule}: {CHECKED[rule]}")
    for rule in set(ABSENT) & set(CHECKED):
        failed += 1
        print(f"{rule} is both checked and said not to occur")
    print(f"{count} faults, {len(tried)} of {len(CHECKED)} rules, {failed} failures")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
