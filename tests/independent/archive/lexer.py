"""Tokens of PDF syntax (ISO 32000-1, 7.2 and 7.3), with what the archive standard says of each."""

import re

SPACE = b"\x00\t\n\x0c\r "
DELIMITERS = b"()<>[]{}/%"
NUMBER = re.compile(rb"[+-]?(\d+\.?\d*|\.\d+)$")
REGULAR = re.compile(rb"[^\x00\t\n\x0c\r ()<>\[\]{}/%]*")
ESCAPES = {0x6E: 10, 0x72: 13, 0x74: 9, 0x62: 8, 0x66: 12, 0x28: 40, 0x29: 41, 0x5C: 92}


class Name(str):
    """A name, # sequences expanded, without its slash."""


class Operator(str):
    """A keyword or operator."""


class Mark(str):
    """A delimiter: << >> [ ] { } or a stray > )."""


class Lexer:
    """Reads objects one by one; tells faults of tokens to `found`."""

    def __init__(self, found, data, at=0, where=""):
        self.found, self.data, self.at, self.where = found, data, at, where

    def skip(self):
        data, at = self.data, self.at
        while at < len(data):
            if data[at] in SPACE:
                at += 1
            elif data[at] == 0x25:
                while at < len(data) and data[at] not in b"\r\n":
                    at += 1
            else:
                break
        self.at = at
        return at < len(data)

    def token(self):
        """The next number, Name, string (bytes), Operator or Mark; None at the end."""
        if not self.skip():
            return None
        data, at = self.data, self.at
        byte = data[at : at + 1]
        if byte == b"/":
            return self.name()
        if byte == b"(":
            return self.literal()
        if data[at : at + 2] in (b"<<", b">>"):
            self.at += 2
            return Mark(data[at : at + 2].decode())
        if byte == b"<":
            return self.hexadecimal()
        if byte in (b"[", b"]", b"{", b"}", b">", b")"):
            self.at += 1
            return Mark(byte.decode())
        word = REGULAR.match(data, at).group()
        self.at += len(word)
        return self.number(word) if NUMBER.match(word) else Operator(word.decode("latin-1"))

    def number(self, word):
        if b"." not in word:
            value = int(word)
            held = -2147483648 <= value <= 2147483647
            self.found.need(held, "A 6.1.13-1", f"{self.where}: integer {value}")
            return value
        value = float(word)
        self.found.need(abs(value) <= 3.403e38, "A 6.1.13-2", f"{self.where}: real {word.decode()[:20]}…")
        small = any(digit in b"123456789" for digit in word) and abs(value) < 1.175e-38
        self.found.need(not small, "A 6.1.13-5", f"{self.where}: real {word.decode()[:20]}… is too close to zero")
        return value

    def name(self):
        raw = REGULAR.match(self.data, self.at + 1).group()
        self.at += 1 + len(raw)
        value = re.sub(rb"#([0-9A-Fa-f]{2})", lambda digits: bytes([int(digits.group(1), 16)]), raw)
        self.found.need(len(value) <= 127, "A 6.1.13-4", f"{self.where}: name of {len(value)} bytes")
        try:
            return Name(value.decode("utf-8"))
        except UnicodeDecodeError:
            self.found.fail("A 6.1.8-1", f"{self.where}: name {value!r} is not UTF-8")
            return Name(value.decode("latin-1"))

    def hexadecimal(self):
        end = self.data.find(b">", self.at)
        digits = bytes(byte for byte in self.data[self.at + 1 : end] if byte not in SPACE)
        self.at = end + 1
        if not self.found.need(
            re.fullmatch(rb"[0-9A-Fa-f]*", digits), "A 6.1.6-2", f"{self.where}: hexadecimal string {digits[:20]!r}"
        ):
            return b""
        self.found.need(len(digits) % 2 == 0, "A 6.1.6-1", f"{self.where}: odd digits in {digits[:20]!r}")
        return self.string(bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode()))

    def literal(self):
        data, at, depth, out = self.data, self.at + 1, 1, bytearray()
        while at < len(data):
            byte = data[at]
            at += 1
            if byte == 0x5C:
                octal = re.compile(rb"[0-7]{1,3}").match(data, at)
                if octal:
                    out.append(int(octal.group(), 8) & 255)
                    at = octal.end()
                elif data[at] in b"\r\n":
                    at += 2 if data[at : at + 2] == b"\r\n" else 1
                else:
                    out.append(ESCAPES.get(data[at], data[at]))
                    at += 1
                continue
            depth += (byte == 0x28) - (byte == 0x29)
            if depth == 0:
                break
            out.append(byte)
        self.at = at
        return self.string(bytes(out))

    def string(self, value):
        self.found.need(len(value) <= 32767, "A 6.1.13-3", f"{self.where}: string of {len(value)} bytes")
        return value

    def value(self, first=None):
        """The next whole object: number, Name, bytes, list, dict, ("ref", n, g), True, False, None or Operator."""
        token = self.token() if first is None else first
        if isinstance(token, Mark) and token == "[":
            return self.items("]")
        if isinstance(token, Mark) and token == "<<":
            flat = self.items(">>")
            pairs = dict(zip(flat[::2], flat[1::2]))
            held = len(flat) == 2 * len(pairs) and all(isinstance(key, Name) for key in flat[::2])
            self.found.need(held, "opens", f"{self.where}: dictionary with odd, doubled or nameless keys: {list(pairs)}")
            return pairs
        if isinstance(token, Operator):
            return {"true": True, "false": False, "null": None}.get(token, token)
        return token

    def items(self, close):
        items = []
        while True:
            token = self.token()
            if token is None or isinstance(token, Mark) and token not in ("[", "<<", close):
                self.found.fail("opens", f"{self.where}: {close} is missing")
                return items
            if isinstance(token, Mark) and token == close:
                return items
            if isinstance(token, Operator) and token == "R" and len(items) >= 2:
                generation, number = items.pop(), items.pop()
                items.append(("ref", number, generation))
            else:
                items.append(self.value(token))
