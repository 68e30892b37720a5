"""Checks audit.jsonl with nothing but Python 3: python3 verify_chain.py

Each line has `hashed`, the text that was hashed when the entry was made, and `hash`. `hashed` is a JSON array: chain, number,
moment, id and name of who did it, act, subject, before, after, why, and the hash of the entry before. Every hash must be the
SHA-256 of its text, every entry must name the hash before it, the numbers must run without a gap, and the last hash must be the
one in audit-head.json.
"""

import hashlib
import json
import pathlib
import sys

here = pathlib.Path(__file__).parent
head = json.loads((here / "audit-head.json").read_text("utf-8"))
before, number = "", 0
for line in (here / "audit.jsonl").read_text("utf-8").splitlines():
    entry = json.loads(line)
    said = json.loads(entry["hashed"])
    number += 1
    if hashlib.sha256(entry["hashed"].encode("utf-8")).hexdigest() != entry["hash"]:
        sys.exit(f"entry {number}: its hash is not that of what it says")
    if (said[0], said[1], said[10]) != (head["chain"], number, before):
        sys.exit(f"entry {number}: it does not follow from the one before")
    before = entry["hash"]
if (number, before) != (head["number"], head["hash"]):
    sys.exit("the chain does not end where audit-head.json says")
for photo in json.loads((here / "photos.json").read_text("utf-8")):
    file = here / photo["file"]
    if not file.exists() or hashlib.sha256(file.read_bytes()).hexdigest() != photo["sha256"]:
        sys.exit(f"{photo['file']}: it is not the picture that was kept")
print(f"all well: {number} entries, ending with {before}")
