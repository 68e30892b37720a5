"""What schemathesis is told beside the OpenAPI document: who asks, and ids that are really there.

Ids that are made up are found nowhere, and then nothing behind the look-up is ever asked. So most that could be ids are
replaced by real ones; what is meant to be no id at all stays as it is.
"""

import json
import os
import re
import zlib

import schemathesis

KNOWN = json.loads(os.environ["CHOCK_KNOWN"])
AN_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


# The clock of the tests stands still, so tokens do not run out. What ends sessions is asked by somebody who has another one.
TOKENS = json.loads(os.environ["CHOCK_TOKENS"])


@schemathesis.auth()
class Token:
    def get(self, case, context):
        return TOKENS

    def set(self, case, data, context):
        which = "spare" if "/sessions" in case.operation.path else "usual"
        case.headers = case.headers or {}
        case.headers["Authorization"] = f"Bearer {data[which]}"


def most(value):
    """Three of four, and the same in every run."""
    return zlib.crc32(repr(value).encode()) % 4 != 0


@schemathesis.hook
def map_path_parameters(context, path_parameters):
    real = KNOWN["paths"].get(context.operation.path, {})
    if not path_parameters or not most(path_parameters):
        return path_parameters
    looks_right = {n: AN_ID.fullmatch(str(v)) is not None for n, v in path_parameters.items()}
    return {n: real[n] if looks_right[n] and n in real else v for n, v in path_parameters.items()}


def filled(value, name):
    if isinstance(value, dict):
        return {n: filled(v, n) for n, v in value.items()}
    if isinstance(value, list):
        return [filled(v, name) for v in value]
    if isinstance(value, str) and AN_ID.fullmatch(value):
        return KNOWN["members"].get(name, value)
    return value


@schemathesis.hook
def map_body(context, body):
    return filled(body, "") if isinstance(body, dict) and most(body) else body


@schemathesis.hook
def map_query(context, query):
    return filled(query, "") if query and most(query) else query
