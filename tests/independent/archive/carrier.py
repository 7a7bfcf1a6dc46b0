"""Bytes of the file: header, objects, streams, cross-reference, trailer (ISO 19005-3, 6.1)."""

import re
import zlib

from .lexer import SPACE, Lexer, Operator

FILTERS = {"FlateDecode", "DCTDecode"}
OBJECT = re.compile(rb"(\d+)[\x00\t\n\x0c\r ](\d+)[\x00\t\n\x0c\r ]obj")


def check(found, data):
    header(found, data)
    ending(found, data)
    table = {}
    at = objects(found, data, table)
    cross_reference(found, data, at, table)
    found.need(len(table) <= 8388607, "A 6.1.13-7", f"{len(table)} objects")


def header(found, data):
    found.need(re.match(rb"%PDF-1\.[0-7](\r\n|\r|\n)", data), "A 6.1.2-1", f"the file begins with {data[:10]!r}")
    first = re.match(rb"[^\r\n]*(\r\n|\r|\n)", data)
    comment = data[first.end() : first.end() + 5] if first else b""
    held = len(comment) == 5 and comment[:1] == b"%" and min(comment[1:]) > 127
    found.need(held, "A 6.1.2-2", f"binary comment: {comment!r}")


def ending(found, data):
    end = data.rfind(b"%%EOF")
    rest = data[end + 5 :]
    found.need(end >= 0 and rest in (b"", b"\n", b"\r", b"\r\n"), "A 6.1.3-3", f"after %%EOF: {rest[:20]!r}")
    found.need(data.count(b"startxref") == 1, "only-known", "the file was updated or linearised: several startxref")


def objects(found, data, table):
    """Reads one object after the other, to the cross-reference table or startxref, whose place is returned."""
    at = 0
    lexer = Lexer(found, data)
    while True:
        lexer.at = at
        lexer.skip()
        at = lexer.at
        match = OBJECT.match(data, at)
        if not match:
            loose = re.match(rb"(\d+)\s+(\d+)\s*obj", data[at : at + 40])
            if not loose:
                return at
            found.fail("A 6.1.9-1", f"object {loose.group(1).decode()}: spaces around its numbers")
            match = re.compile(rb"(\d+)\s+(\d+)\s*obj").match(data, at)
        number = int(match.group(1))
        where = f"object {number}"
        found.need(number not in table, "opens", f"{where} is there twice")
        found.need(data[at - 1 : at] in (b"\n", b"\r"), "A 6.1.9-1", f"{where}: no line end before its number")
        found.need(data[match.end() : match.end() + 1] in (b"\n", b"\r"), "A 6.1.9-1", f"{where}: no line end after obj")
        table[number] = at
        lexer.at, lexer.where = match.end(), where
        value = lexer.value()
        at = closing(found, data, lexer, value, where)


def closing(found, data, lexer, value, where):
    """What follows an object's value: a stream, endobj; the place after it."""
    keyword = lexer.token()
    if keyword == "stream" and isinstance(keyword, Operator):
        lexer.at = stream(found, data, lexer.at, value, where)
        keyword = lexer.token()
    if not found.need(keyword == "endobj", "A 6.1.9-1", f"{where}: {keyword!r} instead of endobj"):
        end = data.find(b"endobj", lexer.at)
        lexer.at = end + 6 if end >= 0 else len(data)
        return lexer.at
    before = data[lexer.at - 7 : lexer.at - 6]
    found.need(before in (b"\n", b"\r"), "A 6.1.9-1", f"{where}: no line end before endobj")
    found.need(data[lexer.at : lexer.at + 1] in (b"\n", b"\r"), "A 6.1.9-1", f"{where}: no line end after endobj")
    return lexer.at


def stream(found, data, at, value, where):
    """A stream's bytes and keywords; the place after endstream."""
    keys = value if isinstance(value, dict) else {}
    line = 2 if data[at : at + 2] == b"\r\n" else 1
    found.need(data[at : at + line] in (b"\n", b"\r\n"), "A 6.1.7.1-2", f"{where}: {data[at:at+2]!r} after stream")
    start = at + line
    foreign = {"F", "FFilter", "FDecodeParms"} & keys.keys()
    found.need(not foreign, "A 6.1.7.1-3", f"{where}: its stream is outside: {sorted(foreign)}")
    kinds = keys.get("Filter", [])
    for kind in kinds if isinstance(kinds, list) else [kinds]:
        found.need(kind in FILTERS, "A 6.1.7.2-1", f"{where}: filter {kind}")
    length = keys.get("Length")
    if isinstance(length, tuple):
        length = indirect_integer(data, length[1])
    end = start + (length if isinstance(length, int) else 0)
    gap = re.compile(rb"(\r\n|\n|\r|)endstream").match(data, end)
    if not gap:
        end = data.find(b"endstream", start)
        found.fail("A 6.1.7.1-1", f"{where}: Length {length} does not lead to endstream")
        return end + 9 if end >= 0 else len(data)
    found.need(gap.group(1), "A 6.1.7.1-2", f"{where}: no line end before endstream")
    body = data[start:end]
    unclear = body.endswith(b"\r") and gap.group(1) == b"\n"
    found.need(not unclear, "A 6.1.7.1-1", f"{where}: its last byte and the line end look like one line end")
    if kinds == "FlateDecode":
        inflate(found, body, where)
    if keys.get("Type") == "ObjStm":
        compressed_objects(found, zlib.decompress(body), keys, where)
    after = data[gap.end() : gap.end() + 1]
    found.need(after in (b"\n", b"\r"), "A 6.1.7.1-2", f"{where}: no line end after endstream")
    return gap.end()


def indirect_integer(data, number):
    match = re.search(rb"[\r\n]%d 0 obj\s+(\d+)\s+endobj" % number, data)
    return int(match.group(1)) if match else None


def inflate(found, body, where):
    machine = zlib.decompressobj()
    try:
        machine.decompress(body)
        held = machine.eof and not machine.unused_data
    except zlib.error:
        held = False
    found.need(held, "A 6.1.7.1-1", f"{where}: its compressed data is broken, cut or followed by more")


def compressed_objects(found, plain, keys, where):
    lexer = Lexer(found, plain, 0, where)
    places = [(lexer.token(), lexer.token()) for _ in range(keys["N"])]
    for number, place in places:
        Lexer(found, plain, keys["First"] + place, f"object {number}").value()


def cross_reference(found, data, at, table):
    if data[at : at + 4] == b"xref":
        at = plain_table(found, data, at, table)
    match = re.compile(rb"\s*startxref\s+(\d+)\s+%%EOF").match(data, at)
    if not found.need(match, "opens", f"byte {at}: {data[at:at+30]!r} is neither object nor cross-reference"):
        return
    place = int(match.group(1))
    held = data[place : place + 4] == b"xref" or OBJECT.match(data, place)
    found.need(held, "A 6.1.4-1", f"startxref leads to {data[place:place+12]!r}")


def plain_table(found, data, at, table):
    """The cross-reference table and the trailer's dictionary; the place after it."""
    found.need(data[at - 1 : at] in (b"\n", b"\r"), "A 6.1.4-2", "no line end before xref")
    head = re.compile(rb"xref(\r\n|\n|\r)(\d+) (\d+)(\r\n|\n|\r)").match(data, at)
    if not found.need(head, "A 6.1.4-2", f"cross-reference table begins {data[at:at+20]!r}"):
        return data.find(b"startxref", at)
    listed, spot = {}, at + 4 + len(head.group(1))
    while section := re.compile(rb"(\d+) (\d+) ?(\r\n|\n|\r)").match(data, spot):
        spot = section.end()
        for number in range(int(section.group(1)), int(section.group(1)) + int(section.group(2))):
            entry = re.compile(rb"(\d{10}) (\d{5}) ([nf])( \r| \n|\r\n)").match(data, spot)
            if not found.need(entry, "A 6.1.4-1", f"entry of object {number}: {data[spot:spot+20]!r}"):
                return data.find(b"startxref", at)
            if entry.group(3) == b"n":
                listed[number] = int(entry.group(1))
            spot = entry.end()
    for number in sorted(listed.keys() | table.keys()):
        held = listed.get(number) == table.get(number)
        found.need(held, "A 6.1.4-1", f"object {number}: listed at {listed.get(number)}, is at {table.get(number)}")
    lexer = Lexer(found, data, spot, "trailer")
    held = lexer.token() == "trailer"
    found.need(held, "A 6.1.4-1", "no trailer after the cross-reference table")
    lexer.value()
    while data[lexer.at] in SPACE:
        lexer.at += 1
    return lexer.at
