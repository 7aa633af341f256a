#!/usr/bin/python3
"""Read a settings file: groups, lists, arrays, scalars, comments, @include, and `extends` (one file or a list).

The notation is libconfig's (grammar from memory), for the
parts a scenario uses. A group becomes a dict (in the order of the file), a list or an array a Python list.
"""
import os
import re

TOKEN = re.compile(r"""
    (?P<space>\s+)
  | (?P<comment>//[^\n]*|\#[^\n]*|/\*.*?\*/)
  | (?P<include>@include\s*"(?P<file>[^"]*)")
  | (?P<string>"(?:\\.|[^"\\])*")
  | (?P<number>[-+]?(?:0[xX][0-9A-Fa-f]+|(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)L{0,2})
  | (?P<name>[A-Za-z*][-A-Za-z0-9_*]*)
  | (?P<mark>[=:;,{}()\[\]])
""", re.VERBOSE | re.DOTALL)

ESCAPES = {"n": "\n", "t": "\t", "r": "\r", "f": "\f", "\\": "\\", '"': '"'}


class SettingsError(Exception):
    """Something in a settings file that cannot be read; the text says where."""


def tokens(path, depth=0):
    """The tokens of a file with the files it includes put in their places: (sort, text, path)."""
    if depth > 10:
        raise SettingsError("%s: @include goes round in a circle" % path)
    with open(path, encoding="utf-8") as f:
        text = f.read()
    found, at = [], 0
    while at < len(text):
        m = TOKEN.match(text, at)
        if not m:
            raise SettingsError("%s: cannot read %r" % (path, text[at:at + 20]))
        at = m.end()
        if m.group("include") is not None:
            inner = os.path.join(os.path.dirname(os.path.abspath(path)), m.group("file"))
            found += tokens(inner, depth + 1)
        elif m.group("space") is None and m.group("comment") is None:
            for sort in ("string", "number", "name", "mark"):
                if m.group(sort) is not None:
                    found.append((sort, m.group(sort), path))
    return found


class Reader:
    def __init__(self, path):
        self.toks = tokens(path) + [("end", "", path)]
        self.i = 0

    def peek(self):
        return self.toks[self.i]

    def take(self, text=None):
        tok = self.toks[self.i]
        if text is not None and tok[1] != text:
            raise SettingsError("%s: %r where %r should be" % (tok[2], tok[1], text))
        self.i += 1
        return tok

    def group(self, closing):
        out = {}
        while self.peek()[1] != closing or self.peek()[0] == "string":
            sort, name, path = self.take()
            if sort != "name":
                raise SettingsError("%s: %r where a name should be" % (path, name))
            if self.peek()[1] not in ("=", ":"):
                raise SettingsError("%s: no = after %s" % (path, name))
            self.take()
            if name in out:
                raise SettingsError("%s: %s stands twice" % (path, name))
            out[name] = self.value()
            if name == "records_file":  # a name is looked for beside the file that says it
                out[name] = os.path.join(os.path.dirname(os.path.abspath(path)), out[name])
            while self.peek()[0] == "mark" and self.peek()[1] in ";,":
                self.take()
        return out

    def items(self, closing):
        out = []
        while self.peek()[1] != closing:
            out.append(self.value())
            if self.peek()[1] == ",":
                self.take()
        self.take(closing)
        return out

    def value(self):
        sort, text, path = self.take()
        if sort == "mark" and text == "{":
            out = self.group("}")
            self.take("}")
            return out
        if sort == "mark" and text in "([":
            return self.items(")" if text == "(" else "]")
        if sort == "string":
            out = unescape(text)
            while self.peek()[0] == "string":
                out += unescape(self.take()[1])
            return out
        if sort == "number":
            text = text.rstrip("L")
            if re.match(r"[-+]?0[xX]", text):
                return int(text, 16)
            return int(text) if re.fullmatch(r"[-+]?\d+", text) else float(text)
        if sort == "name" and text.lower() in ("true", "false"):
            return text.lower() == "true"
        raise SettingsError("%s: %r where a value should be" % (path, text))


def unescape(quoted):
    return re.sub(r"\\x([0-9A-Fa-f]{2})|\\(.)",
                  lambda m: chr(int(m.group(1), 16)) if m.group(1) else ESCAPES.get(m.group(2),
                                                                                    m.group(2)), quoted[1:-1])


def is_distribution(value):
    """A group that says how a quantity is drawn; laid over another it replaces it whole."""
    return isinstance(value, dict) and any(k in value for k in ("shape", "p10", "p50", "p90", "records"))


def lay_over(base, top):
    """Groups merge by name at every depth; everything else is replaced."""
    groups = isinstance(base, dict) and isinstance(top, dict)
    if not groups or is_distribution(base) or is_distribution(top):
        return top
    out = dict(base)
    for name, value in top.items():
        out[name] = lay_over(out[name], value) if name in out else value
    return out


def read(path, library=None, chain=()):
    """A settings file with all it extends beneath it."""
    real = os.path.realpath(path)
    if real in chain:
        raise SettingsError("%s: extends goes round in a circle" % path)
    reader = Reader(path)
    own = reader.group("")
    bases = own.pop("extends", [])
    out = {}
    for name in [bases] if isinstance(bases, str) else bases:
        beside = os.path.join(os.path.dirname(os.path.abspath(path)), name)
        if not os.path.exists(beside) and library:
            beside = os.path.join(library, name)
        out = lay_over(out, read(beside, library, chain + (real,)))
    return lay_over(out, own)
