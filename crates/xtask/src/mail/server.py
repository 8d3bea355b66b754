# A mail server, aiosmtpd, twice: encrypted from the beginning and by STARTTLS, with a sign-in; and a receiver of webhooks,
# which reads events with the CloudEvents SDK and their signatures with the library of Standard Webhooks. Each is on a free port
# of loopback. To standard output go, one JSON a line, where they are, and then what Python's `email` reads in each mail and
# what those libraries read in each event. It ends when its standard input does, so that it outlives nobody who started it.
import asyncio
import email
import email.policy
import hashlib
import json
import logging
import os
import ssl
import sys
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import trustme
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword
from cloudevents.core.bindings.http import HTTPMessage, from_structured_event
from standardwebhooks import Webhook, WebhookVerificationError

USER, PASSWORD, SECRET = sys.argv[1:]
# It warns of a sign-in without STARTTLS, where the connection is encrypted from the beginning, and shows at length that
# somebody does not trust its certificate.
logging.disable(logging.ERROR)


def tell(what):
    print(json.dumps(what), flush=True)


def part(read):
    # A line of any text ends in CR LF on the way (RFC 2046, 4.1.1).
    says = read.get_content().replace("\r\n", "\n")
    return {"type": read.get_content_type(), "charset": read.get_content_charset(), "says": says}


class Inbox:
    async def handle_RCPT(self, server, session, envelope, address, options):
        said = {"full": "552 5.2.2 the box is full", "later": "451 4.3.0 not just now"}
        if (reply := said.get(address.split("@")[0])) is not None:
            return reply
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 well"

    async def handle_DATA(self, server, session, envelope):
        octets = envelope.original_content
        read = email.message_from_bytes(octets, policy=email.policy.default)
        parts = list(read.iter_parts())
        faults = [repr(fault) for piece in read.walk() for fault in piece.defects]
        faults += [repr(fault) for value in read.values() for fault in value.defects]
        sender, recipient = read["From"].addresses, read["To"].addresses
        tell(
            {
                "octets": hashlib.sha256(octets).hexdigest(),
                "longest": max(len(line) for line in octets.split(b"\r\n")),
                "encrypted": session.ssl is not None or server.transport.get_extra_info("ssl_object") is not None,
                "user": session.auth_data.login.decode(),
                "sender": envelope.mail_from,
                "recipients": envelope.rcpt_tos,
                "faults": faults,
                "names": read.keys(),
                "from": [[one.display_name, one.addr_spec] for one in sender],
                "to": [[one.display_name, one.addr_spec] for one in recipient],
                "subject": str(read["Subject"]),
                "date": read["Date"].datetime.isoformat(),
                "id": str(read["Message-ID"]),
                "auto_submitted": str(read["Auto-Submitted"]),
                "language": str(read["Content-Language"]),
                "kind": read.get_content_type(),
                "parts": [part(piece) for piece in parts],
                "best": read.get_body().get_content_type(),
            }
        )
        return "250 2.0.0 kept"


def sign_in(server, session, envelope, mechanism, data):
    good = LoginPassword(USER.encode(), PASSWORD.encode())
    return AuthResult(success=data == good, handled=False, auth_data=data)


class Receiver(BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        headers = {name.lower(): value for name, value in self.headers.items()}
        try:
            Webhook(SECRET).verify(body, headers)
        except WebhookVerificationError as error:
            self.answer(401, str(error))
            return
        event = from_structured_event(HTTPMessage(headers, body))
        attributes = {name: str(value) for name, value in event.get_attributes().items()}
        time_is = event.get_time().isoformat()
        tell({**attributes, "time": time_is, "data": event.get_data(), "webhook_id": headers["webhook-id"]})
        self.answer(202, "")

    def answer(self, code, text):
        self.send_response(code)
        self.send_header("Content-Type", "text/plain")
        self.end_headers()
        self.wfile.write(text.encode())

    def log_message(self, *_):
        pass


async def main():
    root = trustme.CA()
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    root.issue_cert("localhost").configure_cert(context)
    loop = asyncio.get_running_loop()
    common = {"authenticator": sign_in, "auth_required": True, "loop": loop}
    implicit = await loop.create_server(
        lambda: SMTP(Inbox(), auth_require_tls=False, **common), "127.0.0.1", 0, ssl=context
    )
    starttls = await loop.create_server(
        lambda: SMTP(Inbox(), tls_context=context, require_starttls=True, **common), "127.0.0.1", 0
    )
    receiver = ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
    threading.Thread(target=receiver.serve_forever, daemon=True).start()
    tell(
        {
            "implicit": implicit.sockets[0].getsockname()[1],
            "starttls": starttls.sockets[0].getsockname()[1],
            "receiver": receiver.server_port,
            "root": root.cert_pem.bytes().decode(),
            "now": int(time.time()),
        }
    )
    await asyncio.Event().wait()


def leave():
    sys.stdin.read()
    os._exit(0)


threading.Thread(target=leave, daemon=True).start()
asyncio.run(main())
