"""Real mail servers on loopback for tests: Dovecot for IMAP, aiosmtpd for SMTP, both in TLS.

Each starts on a free port with a certificate made for the test, and is waited for by a connection.
"""

import logging
import os
import pwd
import shutil
import signal
import socket
import ssl
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

USER, PASSWORD = "scouting@example.org", "Tr0ub4dor-and-3"
HOST = "127.0.0.1"
_DOVECOT = "/usr/sbin/dovecot"
_WAIT_S = 20.0


def dovecot_missing() -> str | None:
    """Say what tests with a mailbox lack, or None."""
    return None if dovecot_path() else "Dovecot is not here: install dovecot-imapd."


def dovecot_path() -> str | None:
    """Path of Dovecot, which usually lies where only root's path leads."""
    return shutil.which("dovecot") or (_DOVECOT if Path(_DOVECOT).exists() else None)


# ---- a certificate -------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Certificate:
    """A certificate of a server at 127.0.0.1, with its key; it vouches for itself."""

    cert: Path
    key: Path


def make_certificate(folder: Path, *, name: str = HOST) -> Certificate:
    """Make a certificate for an address, or for a name that is not ours."""
    from ipaddress import ip_address

    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec

    folder.mkdir(parents=True, exist_ok=True)
    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, name)])
    is_address = name.replace(".", "").isdigit()
    other = x509.IPAddress(ip_address(name)) if is_address else x509.DNSName(name)
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=2))
        .add_extension(x509.SubjectAlternativeName([other]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    found = Certificate(cert=folder / "cert.pem", key=folder / "key.pem")
    found.cert.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    found.key.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return found


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as found:
        found.bind((HOST, 0))
        port: int = found.getsockname()[1]
        return port


def wait_for(port: int) -> None:
    """Wait until somebody listens."""
    until = time.monotonic() + _WAIT_S
    while True:
        try:
            socket.create_connection((HOST, port), timeout=1).close()
            return
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.02)


# ---- IMAP ----------------------------------------------------------------------------------

_CONFIG = """\
base_dir = {base}/run
state_dir = {base}/state
log_path = {base}/log
protocols = imap
listen = 127.0.0.1
ssl = required
ssl_cert = <{cert}
ssl_key = <{key}
auth_mechanisms = plain login
default_internal_user = {internal}
default_internal_group = {internal_group}
default_login_user = {login}
mail_location = maildir:{base}/mail/%u
first_valid_uid = 1
mail_fsync = never
passdb {{
  driver = static
  args = password={password}
}}
userdb {{
  driver = static
  args = uid={uid} gid={gid} home={base}/mail/%u
}}
service imap-login {{
  chroot =
  inet_listener imap {{
    port = 0
  }}
  inet_listener imaps {{
    port = {port}
    ssl = yes
  }}
}}
service anvil {{
  chroot =
}}
service stats {{
  chroot =
}}
namespace inbox {{
  inbox = yes
  separator = /
}}
"""


@dataclass(kw_only=True)
class Mailbox:
    """A running Dovecot with one user."""

    port: int
    base: Path
    certificate: Certificate
    process: "subprocess.Popen[bytes]"

    @property
    def inbox(self) -> Path:
        """The folder of the user's mailbox."""
        return self.base / "mail" / USER

    def deliver(self, data: bytes, *, number: int, folder: str = "", give: bool = True) -> None:
        """Put a message into the mailbox, as a delivering server does."""
        place = self.inbox / (f".{folder}" if folder else "")
        for part in ("cur", "new", "tmp"):
            (place / part).mkdir(parents=True, exist_ok=True)
        (place / "new" / f"{1_700_000_000 + number}.M{number}P1.test").write_bytes(data)
        if give:
            self.give()

    def give(self) -> None:
        """Give what was delivered to the user whose mail it is."""
        _give(self.inbox)

    def lock_up(self, folder: str) -> None:
        """Make a folder that takes no message."""
        place = self.inbox / f".{folder}"
        for part in ("cur", "new", "tmp"):
            (place / part).mkdir(parents=True)
        _give(self.inbox)
        for path in (place, *place.iterdir()):
            path.chmod(0o555)

    def messages(self, folder: str = "") -> list[bytes]:
        """Return the messages of a folder as they lie there."""
        place = self.inbox / (f".{folder}" if folder else "")
        found = sorted([*place.glob("new/*"), *place.glob("cur/*")], key=lambda path: path.name)
        return [path.read_bytes() for path in found]

    def flags(self) -> list[str]:
        """Return the flags of all messages in the mailbox."""
        return [path.name.partition(":2,")[2] for path in self.inbox.glob("cur/*")]

    def kill(self) -> None:
        """Take the server and all that it started away at once, in the middle of a word."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(_WAIT_S)

    def stop(self) -> None:
        """End the server and all that it started."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGTERM)
            self.process.wait(_WAIT_S)


def _give(place: Path) -> None:
    """Give what root made to the user whose mail it is."""
    if os.getuid() == 0:
        uid, gid = _owner()
        for path in (place, *place.rglob("*")):
            os.chown(path, uid, gid)


def _owner() -> tuple[int, int]:
    if os.getuid() == 0:
        found = pwd.getpwnam("nobody")
        return found.pw_uid, found.pw_gid
    return os.getuid(), os.getgid()


@contextmanager
def mailbox(*, name: str = HOST) -> Iterator[Mailbox]:
    """Run Dovecot as a plain process with a mailbox of its own, and end it."""
    path = dovecot_path()
    assert path is not None
    base = Path(tempfile.mkdtemp(prefix="mailbox-"))  # sockets need a short path
    base.chmod(0o755)
    port, certificate = free_port(), make_certificate(base / "tls", name=name)
    config = base / "dovecot.conf"
    config.write_text(_config(base, port, certificate))
    (base / "mail").mkdir()
    _give(base / "mail")
    process = subprocess.Popen(
        [path, "-F", "-c", str(config)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    box = Mailbox(port=port, base=base, certificate=certificate, process=process)
    try:
        wait_for(port)
        yield box
    finally:
        box.stop()
        shutil.rmtree(base, ignore_errors=True)


def _config(base: Path, port: int, certificate: Certificate) -> str:
    import grp

    uid, gid = _owner()
    me = pwd.getpwuid(os.getuid()).pw_name
    is_root = os.getuid() == 0
    return _CONFIG.format(
        base=base,
        cert=certificate.cert,
        key=certificate.key,
        internal="dovecot" if is_root else me,
        internal_group="dovecot" if is_root else grp.getgrgid(os.getgid()).gr_name,
        login="dovenull" if is_root else me,
        password=PASSWORD,
        uid=uid,
        gid=gid,
        port=port,
    )


# ---- SMTP ----------------------------------------------------------------------------------


@dataclass(kw_only=True)
class Postbox:
    """Takes messages over; `replies` are what it says to the next ones instead of taking them.

    A reply may be a function, which is called before the answer is given: to break off.
    """

    port: int = 0
    got: list[tuple[str, bytes]] = field(default_factory=list)
    recipient_replies: list[str] = field(default_factory=list)
    replies: list[str | Callable[[], None]] = field(default_factory=list)

    async def handle_RCPT(  # noqa: N802  (the library's name)
        self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any
    ) -> str:
        """Take a recipient, or say what is next in line."""
        if self.recipient_replies:
            return self.recipient_replies.pop(0)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802
        """Take a message, or say what is next in line."""
        reply = self.replies.pop(0) if self.replies else None
        if isinstance(reply, str):
            return reply
        self.got.append((envelope.rcpt_tos[0], envelope.content))
        if reply is not None:
            reply()
            server.transport.abort()
        return "250 taken"


@contextmanager
def postbox(certificate: Certificate) -> Iterator[Postbox]:
    """Run a server for outgoing mail that asks for TLS and a password."""
    from aiosmtpd.controller import Controller
    from aiosmtpd.smtp import AuthResult, LoginPassword

    def allowed(_server: Any, _session: Any, _envelope: Any, _kind: str, data: Any) -> AuthResult:
        known = isinstance(data, LoginPassword) and data.password == PASSWORD.encode()
        return AuthResult(success=known, handled=False)

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate.cert, certificate.key)
    box = Postbox(port=free_port())
    controller = Controller(
        box,
        hostname=HOST,
        port=box.port,
        tls_context=context,
        require_starttls=True,
        auth_required=True,
        authenticator=allowed,
        data_size_limit=200_000_000,
    )
    logging.getLogger("mail.log").setLevel(logging.ERROR)  # it warns of its own future
    controller.start()
    try:
        yield box
    finally:
        controller.stop(no_assert=True)
