"""Holds an OpenAPI 3.1 document against the standard, and exchanges against the document.

Reads {"document": ..., "exchanges": [...]} on standard input; the document itself is looked at when there are no
exchanges. Says what is wrong, one line each, and ends with 1; with 0
when nothing is. Any other end is a failure of the check itself.
"""

import json
import re
import sys

from jsonschema import Draft202012Validator, FormatChecker

given = json.load(sys.stdin)
document = given["document"]
wrong = []

if not given["exchanges"]:
    from openapi_spec_validator import OpenAPIV31SpecValidator

    for error in OpenAPIV31SpecValidator(document).iter_errors():
        wrong.append(f"document {'/'.join(map(str, error.path))}: {error.message}")


def resolved(node):
    while "$ref" in node:
        target = document
        for part in node["$ref"].removeprefix("#/").split("/"):
            target = target[part]
        node = target
    return node


def against(what, content, kind, value):
    kind = kind.split(";")[0]
    if kind not in content:
        wrong.append(f"{what}: {kind or 'no content type'} is not promised")
        return
    schema = {"components": document["components"], **content[kind]["schema"]}
    for error in Draft202012Validator(schema, format_checker=FormatChecker()).iter_errors(value):
        wrong.append(f"{what} at {error.json_path}: {error.message[:300]}")


def operation(method, path):
    for template, item in document["paths"].items():
        pattern = re.sub(r"\\\{[^/]*?\\\}", "[^/]+", re.escape(template))
        if re.fullmatch(pattern, path) and method.lower() in item:
            return item[method.lower()]
    return None


for x in given["exchanges"]:
    what = f"{x['method']} {x['path']} {x['status']}"
    asked = operation(x["method"], x["path"])
    if asked is None:
        wrong.append(f"{what}: no such operation")
        continue
    if x["sent"] is not None and x["status"] < 400:
        against(f"{what} sent", asked["requestBody"]["content"], "application/json", x["sent"])
    responses = asked["responses"]
    answer = resolved(responses.get(str(x["status"])) or responses["default"])
    if str(x["status"]) not in responses and x["status"] < 400:
        wrong.append(f"{what}: this status is not promised")
    if x["got"] is not None or "content" in answer:
        against(f"{what} answered", answer.get("content", {}), x["content_type"], x["got"])

print("\n".join(wrong))
sys.exit(1 if wrong else 0)
