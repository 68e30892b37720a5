"""A real mail server for tests/mail.rs: aiosmtpd with TLS and sign-in, which refuses some people on purpose.

Writes one JSON object a line to standard output: first {"port": N}, then one for each mail it accepted, taken apart by
Python's own email package, so that what Chock wrote is read by somebody else's parser. Ends when standard input closes.

The name before the @ of the recipient chooses the answer:
  busy 451 at RCPT, nobody 550 at RCPT, toobig 552 after DATA, silent no answer at all, anybody else 250.
"""

import argparse
import asyncio
import email
import email.policy
import json
import logging
import ssl
import sys
import warnings

from aiosmtpd.smtp import SMTP, AuthResult


def say(fact):
    print(json.dumps(fact), flush=True)


def defects(message):
    found = []
    for part in message.walk():
        found += [type(defect).__name__ for defect in part.defects]
        for name, value in part.items():
            found += [f"{name}: {type(defect).__name__}" for defect in getattr(value, "defects", ())]
    return found


class Post:
    async def handle_RCPT(self, server, session, envelope, address, options):
        who = address.split("@")[0]
        if who == "busy":
            return "451 4.3.0 the mailbox is being moved, try later"
        if who == "nobody":
            return "550 5.1.1 there is nobody of that name"
        if who == "silent":
            await asyncio.sleep(3600)
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 fine"

    async def handle_DATA(self, server, session, envelope):
        if any(address.startswith("toobig@") for address in envelope.rcpt_tos):
            return "552 5.3.4 too big for this mailbox"
        raw = envelope.original_content
        message = email.message_from_bytes(raw, policy=email.policy.default)
        say(
            {
                "tls": session.ssl is not None,
                "user": session.auth_data,
                "envelope_from": envelope.mail_from,
                "envelope_to": envelope.rcpt_tos,
                "fields": [[name, str(value)] for name, value in message.items()],
                "from": [address.addr_spec for address in message["From"].addresses],
                "to": [[address.display_name, address.addr_spec] for address in message["To"].addresses],
                "date": message["Date"].datetime.isoformat(),
                "parts": [part.get_content_type() for part in message.iter_parts()],
                "text": message.get_body(("plain",)).get_content(),
                "html": message.get_body(("html",)).get_content(),
                "defects": defects(message),
                "longest_line": max(len(line) for line in raw.split(b"\r\n")),
                "bare_line_breaks": raw.replace(b"\r\n", b"").count(b"\n") + raw.replace(b"\r\n", b"").count(b"\r"),
            }
        )
        return "250 2.0.0 kept as 7F3A"


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--security", choices=["clear", "starttls", "tls"], required=True)
    options.add_argument("--certificate")
    options.add_argument("--key")
    options.add_argument("--user")
    options.add_argument("--password")
    given = options.parse_args()

    # What a test provokes on purpose (a refused certificate, sign-in without STARTTLS) is no news.
    warnings.simplefilter("ignore")
    logging.getLogger("mail.log").setLevel(logging.CRITICAL)

    context = None
    if given.security != "clear":
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(given.certificate, given.key)

    def authenticator(server, session, envelope, mechanism, data):
        right = data.login.decode() == given.user and data.password.decode() == given.password
        return AuthResult(success=right, handled=False, auth_data=given.user if right else None)

    def protocol():
        return SMTP(
            Post(),
            hostname="mail.example.org",
            tls_context=context if given.security == "starttls" else None,
            require_starttls=given.security == "starttls",
            auth_required=given.user is not None,
            auth_require_tls=given.security == "starttls",
            authenticator=authenticator if given.user else None,
        )

    async def serve():
        loop = asyncio.get_running_loop()
        at_once = context if given.security == "tls" else None
        server = await loop.create_server(protocol, "127.0.0.1", 0, ssl=at_once)
        say({"port": server.sockets[0].getsockname()[1]})
        await loop.run_in_executor(None, sys.stdin.read)

    asyncio.run(serve())


if __name__ == "__main__":
    main()
