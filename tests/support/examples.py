"""Makes web/api/examples.json out of what the API's tests sent and were answered.

First: CHOCK_WRITE_SNAPSHOTS=1 tests/run api::     then: python tests/support/examples.py
Of several exchanges of an operation the one that says most is taken, as long as it can still be read; long lists are cut,
secrets are taken out. Ids, names and figures are those of the invented site of the tests.
"""

import hashlib
import json
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
READABLE = 2000
HIDDEN = {
    "password": "your password",
    "new": "a longer one, of your own",
    "access_token": "eyJ0eXAiOiJhdCtqd3QiLCJhbGciOiJIUzI1NiJ9…",
    "refresh_token": "Zm9yIG9uZSB1c2Ugb25seQ…",
    "link": "/welcome/Z29vZCBvbmNl…",
    "address": "otpauth://totp/chock.example:olga%40yard.example?secret=…",
    "recovery_codes": ["k3f7…"],
}
WHOLE = {"week"}
AN_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")

document = json.loads((ROOT / "tests/snapshots/openapi.json").read_text())


def operation(method, path):
    found = []
    for template, item in document["paths"].items():
        pattern = re.sub(r"\\\{[^/]*?\\\}", "[^/]+", re.escape(template))
        if re.fullmatch(pattern, path) and method.lower() in item:
            found.append((template.count("{"), item[method.lower()]))
    return min(found, key=lambda f: f[0])[1] if found else None


def other(text):
    """The tests make the same ids in every run: those of the examples are of nobody's."""
    return AN_ID.sub(lambda m: m[0][:24] + hashlib.sha256(m[0].encode()).hexdigest()[:12], text)


def told(value, name="", most=2):
    if name in HIDDEN and value is not None:
        return HIDDEN[name]
    if name == "secret" and isinstance(value, str):
        return "shown once…"
    if isinstance(value, dict):
        return {other(n): told(v, n, most) for n, v in value.items()}
    if isinstance(value, str):
        return other(value)
    if isinstance(value, list):
        return [told(v, name, most) for v in (value if name in WHOLE else value[:most])]
    return value


best = {}
for file in sorted((ROOT / "target/tmp/exchanges").glob("*.json")):
    for x in json.loads(file.read_text()):
        if not 200 <= x["status"] < 300:
            continue
        asked = operation(x["method"], x["path"])
        if asked is None:
            continue
        sent = told(x["sent"]) if x["sent"] not in (None, {}) or "requestBody" in asked else None
        for most in (2, 1):
            got = told(x["got"], most=most)
            size = len(json.dumps(got)) + len(json.dumps(sent))
            if size <= READABLE:
                break
        # The first that says most; what cannot be read stands behind everything.
        rank = (size <= READABLE, size if size <= READABLE else -size)
        known = best.get(asked["operationId"])
        if known is None or rank > known[0]:
            example = {"status": str(x["status"])}
            if sent is not None and "requestBody" in asked:
                example["sent"] = sent
            if got is not None:
                example["answered"] = got
            best[asked["operationId"]] = (rank, example)

# What is no JSON on one side is not among the exchanges.
BY_HAND = {
    "remove_own_passkey": {
        "status": "200", "sent": {"password": HIDDEN["password"]}, "answered": {"passkeys": []}
    },
    "export_everything": {"status": "200", "sent": {"password": HIDDEN["password"]}},
    "photo_of_defect": {"status": "201", "answered": {"photo": "0192f0c1-7a2b-7c3d-8e4f-5a6b7c8d9e0f"}},
}
for name, example in BY_HAND.items():
    best.setdefault(name, (None, example))
written = {name: example for name, (_, example) in sorted(best.items())}
(ROOT / "web/api/examples.json").write_text(json.dumps(written, indent=1, ensure_ascii=False) + "\n")
print(f"{len(written)} operations have an example")
