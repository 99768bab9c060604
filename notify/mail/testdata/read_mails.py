"""Reads every .eml file of a folder with Python's email package and prints
what it found, defects among it, as JSON. Written for this project."""
import email
import email.policy
import json
import pathlib
import sys

found = []
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.eml")):
    raw = path.read_bytes()
    msg = email.message_from_bytes(raw, policy=email.policy.default)
    defects, types = [], []
    for part in msg.walk():
        defects += [repr(d) for d in part.defects]
        for name, value in part.items():
            defects += [f"{name}: {d!r}" for d in getattr(value, "defects", ())]
        if not part.is_multipart():
            types.append(part.get_content_type())
            part.get_content()
            defects += [repr(d) for d in part.defects]
    for line in raw.split(b"\r\n"):
        if len(line) > 998:
            defects.append("a line of %d octets" % len(line))
    if b"\n" in raw.replace(b"\r\n", b""):
        defects.append("a bare line feed")
    to = msg["To"].addresses[0].display_name
    # A part found by get_body is not read through msg: the reader wants leaves.
    plain = next(p for p in msg.walk() if p.get_content_type() == "text/plain")
    text = plain.get_content()
    found.append(dict(File=path.name, Defects=defects, Types=types, To=to, Text=text))
json.dump(found, sys.stdout)
