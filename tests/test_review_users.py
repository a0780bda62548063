"""Who may log in: the users file, sessions, and how often a log-in may be tried."""

from __future__ import annotations

import json
import os
import re
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nacl.pwhash import argon2id, verify

from assistant import cli
from assistant.core.problems import CallProblem, FileProblem
from assistant.files.keys import Locking
from assistant.review.attempts import ADDRESS_BURST, LONGEST_PAUSE_S, NAME_BURST, Attempts
from assistant.review.roles import ACTS, MAY, ROLES, Who
from assistant.review.roster import Roster, RosterUnusable
from assistant.review.sessions import ABSOLUTE_S, IDLE_S, MOST, Sessions
from assistant.review.users import HASH, LOCKING, add_user, fits, hashed, list_users, name_key, read_users, remove_user

LIGHT = Locking(1, 8192)
"""libsodium's least: tests are to be quick. The true one is tested once, by its text."""
FOREMAN = Who("Ines Voss", "foreman")


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "layup" / "users.json"


# --- the file


def test_a_user_added_is_read_again_and_the_passphrase_stands_nowhere(path: Path) -> None:
    add_user(path, " Ines   Voss ", "foreman", "wet bilge pump", LIGHT)
    (user,) = read_users(path)
    assert (user.name, user.role) == ("Ines Voss", "foreman")
    assert fits("wet bilge pump", user.passphrase) and not fits("wet bilge pumps", user.passphrase)
    assert b"bilge" not in b"".join(file.read_bytes() for file in path.parent.iterdir())


def test_the_file_is_for_its_owner_alone(path: Path) -> None:
    add_user(path, "Ines", "foreman", "wet bilge pump", LIGHT)
    add_user(path, "Timo", "technician", "dry bilge pump", LIGHT)
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o077 == 0
    assert [file.name for file in path.parent.iterdir()] == ["users.json"]


def test_the_hash_is_argon2id_as_rfc_9106_recommends_it() -> None:
    """RFC 9106, section 4, second recommended option: t=3, m=2^16 (64 MiB); libsodium's lanes are 1. Another hand verifies it:
    PyNaCl's general `verify`, which goes by the text alone."""
    text = hashed("wet bilge pump")
    assert text.startswith("$argon2id$v=19$m=65536,t=3,p=1$") and HASH.fullmatch(text)
    assert verify(text.encode(), b"wet bilge pump")
    assert (LOCKING.memory_bytes, LOCKING.passes) == (2**16 * 1024, 3)
    assert text != hashed("wet bilge pump", LOCKING)  # salted


def test_a_passphrase_is_the_same_from_every_keyboard() -> None:
    """NIST SP 800-63B, 5.1.1.2: NFKC or NFKD before hashing. One dot in a letter, or as a sign of its own."""
    assert fits("se\u0301curite\u0301 1", hashed("s\u00e9curit\u00e9 1", LIGHT))


@pytest.mark.parametrize("passphrase", ["", "1234567", "x" * 1001])
def test_short_and_endless_passphrases_are_refused(path: Path, passphrase: str) -> None:
    with pytest.raises(CallProblem, match="too short or too long"):
        add_user(path, "Ines", "foreman", passphrase, LIGHT)
    assert not path.exists()


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "a\x00b", "a\x1b[2J", "a\u202eb"])
def test_names_that_cannot_be_seen_are_refused(path: Path, name: str) -> None:
    with pytest.raises(CallProblem, match="cannot be a name"):
        add_user(path, name, "foreman", "wet bilge pump", LIGHT)


def test_one_name_is_there_once_however_it_is_written(path: Path) -> None:
    add_user(path, "Ines Voss", "foreman", "wet bilge pump", LIGHT)
    with pytest.raises(CallProblem, match="already"):
        add_user(path, "INES  voss", "technician", "dry bilge pump", LIGHT)
    assert remove_user(path, "ines voss").name == "Ines Voss"
    with pytest.raises(CallProblem, match="no user"):
        remove_user(path, "Ines Voss")
    assert read_users(path) == ()


def test_two_who_add_at_once_both_stay(path: Path) -> None:
    threads = [
        threading.Thread(target=add_user, args=(path, f"user {n}", "technician", "wet bilge pump", LIGHT))
        for n in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(user.name for user in read_users(path)) == [f"user {n}" for n in range(8)]


def test_a_file_that_others_may_read_is_refused_with_what_to_do(path: Path) -> None:
    add_user(path, "Ines", "foreman", "wet bilge pump", LIGHT)
    for mode in (0o640, 0o604, 0o620, 0o602):
        path.chmod(mode)
        with pytest.raises(FileProblem, match="others may read or change") as refused:
            read_users(path)
        assert f"chmod 600 {path}" in refused.value.do
    path.chmod(0o600)
    assert len(read_users(path)) == 1


def test_a_link_in_its_place_is_not_followed(path: Path, tmp_path: Path) -> None:
    add_user(tmp_path / "other" / "users.json", "Ines", "foreman", "wet bilge pump", LIGHT)
    path.parent.mkdir()
    path.symlink_to(tmp_path / "other" / "users.json")
    with pytest.raises(FileProblem, match="cannot be read"):
        read_users(path)


GOOD = {"name": "Ines", "role": "foreman", "passphrase": hashed("wet bilge pump", LIGHT)}
HUGE = GOOD["passphrase"].replace("m=8,", "m=999999999,")
DAMAGES = {
    "": "line",
    "{": "line",
    "[]": "it is not",
    "null": "it is not",
    '{"kind": "layup users 1"}': "it is not",
    '{"kind": "layup users 2", "users": []}': "it is not",
    "[" * 100_000: "no list of users",
    json.dumps({"kind": "layup users 1", "users": [GOOD, 7]}): "user 2: it must have name",
    json.dumps({"kind": "layup users 1", "users": [{**GOOD, "more": 1}]}): "user 1: it must have name",
    json.dumps(
        {"kind": "layup users 1", "users": [{**GOOD, "name": 7}]}
    ): "user 1: name, role and passphrase must be text",
    json.dumps({"kind": "layup users 1", "users": [{**GOOD, "name": "a\nb"}]}): "user 1: that cannot be a name",
    json.dumps({"kind": "layup users 1", "users": [{**GOOD, "role": "owner"}]}): "user 1: the role must be one of",
    json.dumps(
        {"kind": "layup users 1", "users": [{**GOOD, "passphrase": "wet bilge pump"}]}
    ): "user 1: its passphrase",
    json.dumps({"kind": "layup users 1", "users": [{**GOOD, "passphrase": HUGE}]}): "user 1: its passphrase",
    json.dumps(
        {"kind": "layup users 1", "users": [GOOD, {**GOOD, "name": "INES"}]}
    ): "user 2: that|user 2: the name is there twice",
}


@pytest.mark.parametrize(("text", "told"), DAMAGES.items(), ids=[re.sub(r"\W+", "-", text[:60]) for text in DAMAGES])
def test_damage_is_told_with_its_place_and_what_to_do(path: Path, text: str, told: str) -> None:
    path.parent.mkdir()
    path.write_text(text)
    path.chmod(0o600)
    with pytest.raises(FileProblem) as refused:
        read_users(path)
    said = str(refused.value)
    assert said.startswith(str(path)) and "layup users add" in said
    assert re.search(told, said) or (told == "line" and re.match(rf"{re.escape(str(path))}:\d+:\d+: ", said))


@given(data=st.binary(max_size=300))
def test_any_bytes_are_users_or_a_problem(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any-users.json"
    path.write_bytes(data)
    path.chmod(0o600)
    with pytest.raises(FileProblem):
        read_users(path)


def test_a_file_cut_anywhere_lets_nobody_in(path: Path) -> None:
    add_user(path, "Ines", "foreman", "wet bilge pump", LIGHT)
    whole = path.read_bytes()
    for length in range(len(whole.rstrip())):
        path.write_bytes(whole[:length])
        with pytest.raises(FileProblem):
            read_users(path)


def test_a_full_disk_leaves_the_old_file(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    add_user(path, "Ines", "foreman", "wet bilge pump", LIGHT)
    before = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(os, "fsync", full)
        with pytest.raises(CallProblem, match="No space left"):
            add_user(path, "Timo", "technician", "dry bilge pump", LIGHT)
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == ["users.json"]


# --- the command


def test_users_are_added_listed_and_removed_by_the_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("LAYUP_PASSPHRASE", "wet bilge pump")
    assert cli.main(("users", "list")) == 0
    assert "no users" in capsys.readouterr().out
    assert cli.main(("users", "add", "Ines Voss", "--role", "foreman")) == 0
    assert cli.main(("users", "add", "ines voss", "--role", "foreman")) == 2
    assert cli.main(("users", "list")) == 0
    assert cli.main(("users", "remove", "Ines Voss")) == 0
    said = capsys.readouterr()
    assert said.out == (
        f"added: Ines Voss, foreman\nInes Voss: foreman\nfile: {tmp_path}/layup/users.json\nremoved: Ines Voss, foreman\n"
    )
    assert "there is a user of that name already" in said.err
    assert "bilge" not in said.out + said.err
    assert list_users(tmp_path / "layup" / "users.json")[0].startswith("no users")


# --- the file while the server runs


def test_an_unknown_name_and_a_wrong_passphrase_cost_the_same_comparison(path: Path) -> None:
    """Asserted by what is compared: once each, hashes of the same cost; so that the time names nobody."""
    add_user(path, "Ines", "foreman", "wet bilge pump", LIGHT)
    compared: list[str] = []

    def counted(passphrase: str, kept: str) -> bool:
        compared.append(kept)
        return fits(passphrase, kept)

    roster = Roster(path, LIGHT, counted)
    assert roster.check("Ines", "not the one") is None
    assert roster.check("Nobody", "not the one") is None
    assert roster.check("Ines", "wet bilge pump") is not None
    assert len(compared) == 3
    costs = {text.split("$")[3] for text in compared}
    assert costs == {"m=8,t=1,p=1"}
    assert compared[0] == compared[2] != compared[1]


def test_changes_of_the_file_count_at_once_and_damage_lets_nobody_in(path: Path) -> None:
    add_user(path, "Ines", "foreman", "wet bilge pump", LIGHT)
    roster = Roster(path, LIGHT)
    assert roster.of("ines") is not None
    remove_user(path, "Ines")
    assert roster.of("ines") is None
    add_user(path, "Ines", "technician", "wet bilge pump", LIGHT)
    found = roster.of("INES")
    assert found is not None and found.role == "technician"
    path.chmod(0o644)
    for _ in range(2):
        with pytest.raises(RosterUnusable):
            roster.of("Ines")
    path.chmod(0o600)
    assert roster.of("Ines") is not None
    path.unlink()
    assert roster.of("Ines") is None


# --- the table of roles


def test_every_role_is_in_the_table_and_the_foreman_may_do_everything() -> None:
    assert set(MAY) == set(ROLES) == {"foreman", "technician"}
    assert MAY["foreman"] == set(ACTS)


def test_a_technician_changes_nothing_but_answers() -> None:
    """Issue 10, point 6, and the brief: he looks, listens (and watches the bay), and answers questions asked back."""
    assert MAY["technician"] == {"look", "listen", "watch", "answer"}


# --- sessions


def test_a_token_is_256_random_bits_and_the_server_keeps_only_its_hash() -> None:
    sessions = Sessions(Clock())
    tokens = {sessions.begin(FOREMAN) for _ in range(200)}
    assert len(tokens) == 200 and all(re.fullmatch(r"[A-Za-z0-9_-]{43}", token) for token in tokens)
    assert not any(token in repr(vars(sessions)) for token in tokens)


def test_a_session_ends_after_an_hour_unused_and_after_twelve_at_all() -> None:
    clock = Clock()
    sessions = Sessions(clock)
    token = sessions.begin(FOREMAN)
    clock.now += IDLE_S - 1
    assert sessions.find(token) is not None
    clock.now += IDLE_S - 1
    assert sessions.find(token) is not None
    clock.now += IDLE_S
    assert sessions.find(token) is None
    clock.now -= IDLE_S
    assert sessions.find(token) is None  # ended is ended
    token, began = sessions.begin(FOREMAN), clock.now
    while clock.now + IDLE_S / 2 < began + ABSOLUTE_S:
        clock.now += IDLE_S / 2
        assert sessions.find(token) is not None
    clock.now = began + ABSOLUTE_S
    assert sessions.find(token) is None
    assert (IDLE_S, ABSOLUTE_S) == (3600, 43200)


def test_watching_goes_on_past_the_idle_end_but_keeps_nothing_open() -> None:
    clock = Clock()
    sessions = Sessions(clock)
    token = sessions.begin(FOREMAN)
    for _ in range(11):
        clock.now += IDLE_S
        assert sessions.find(token, watching=True) is not None
    assert sessions.find(token) is None
    assert sessions.find(token, watching=True) is None
    token = sessions.begin(FOREMAN)
    clock.now += ABSOLUTE_S
    assert sessions.find(token, watching=True) is None


def test_sessions_do_not_pile_up() -> None:
    clock = Clock()
    sessions = Sessions(clock)
    first = sessions.begin(FOREMAN)
    for _ in range(MOST):
        clock.now += 0.001
        last = sessions.begin(FOREMAN)
    assert sessions.find(first) is None and sessions.find(last) is not None


def test_the_form_token_belongs_to_one_session_of_one_server() -> None:
    sessions, others = Sessions(Clock()), Sessions(Clock())
    one, two = sessions.begin(FOREMAN), sessions.begin(FOREMAN)
    assert sessions.csrf_fits(one, sessions.csrf(one))
    for wrong in ("", "0" * 64, sessions.csrf(two), others.csrf(one), sessions.csrf(one)[:-1], "\ud800", "é"):
        assert not sessions.csrf_fits(one, wrong)


# --- how often


def test_guessing_gets_slower_and_slower(tell: Callable[[str], None]) -> None:
    """The most that a patient guesser gets on one name from one address, who tries at every moment that he may."""
    clock = Clock()
    attempts, tries = Attempts(clock), [0.0]
    attempts.take("Ines", "192.0.2.7")
    while clock.now < 1000 + 24 * 3600:
        wait_s = attempts.take("Ines", "192.0.2.7")
        if wait_s == 0:
            tries.append(clock.now - 1000)
        clock.now += wait_s
    in_a_minute, in_an_hour, in_a_day = (sum(at < limit for at in tries) for limit in (60, 3600, 86400))
    assert in_a_minute <= 10 and in_an_hour <= 18 and in_a_day <= 110
    assert tries[:NAME_BURST] == [0.0] * NAME_BURST
    waits = [later - earlier for earlier, later in zip(tries[NAME_BURST - 1 :], tries[NAME_BURST:], strict=False)]
    assert (
        waits == pytest.approx(sorted(waits))
        and waits[0] == pytest.approx(2)
        and waits[-1] == pytest.approx(LONGEST_PAUSE_S)
    )
    tell(f"log-in: guesses at one name: {in_a_minute} in a minute, {in_an_hour} in an hour, {in_a_day} in a day")


def test_no_rhythm_of_guessing_gains_anything(tell: Callable[[str], None]) -> None:
    """Tries one at a time or all that there are, at every distance from two seconds to a night and more, for a day."""
    most, days = 0.0, 1
    for quiet_s in (2, 30, 60, 600, 900, 1200, 2400, 4500, 9000, 43_000, 43_200, 50_000):
        for at_once in (1, 100):
            clock = Clock()
            attempts, tries = Attempts(clock), 0
            while clock.now < 1000 + days * 24 * 3600:
                tries += next((n for n in range(at_once) if attempts.take("Ines", "192.0.2.7") > 0), at_once)
                clock.now += quiet_s
            most = max(most, tries / days)
    assert most <= 110
    tell(f"log-in: guesses at one name in whatever rhythm: at most {most:.0f} a day")


def test_a_night_without_tries_forgets_them() -> None:
    clock = Clock()
    attempts = Attempts(clock)
    for _ in range(30):
        clock.now += attempts.take("Ines", "192.0.2.7")
    while attempts.take("Ines", "192.0.2.7") == 0:
        pass
    assert attempts.take("Ines", "192.0.2.7") > 60
    clock.now += 12 * 3600
    assert [attempts.take("Ines", "192.0.2.7") for _ in range(NAME_BURST)] == [0.0] * NAME_BURST


def test_the_address_counts_over_all_names_and_the_name_over_all_addresses() -> None:
    attempts = Attempts(Clock())
    assert [attempts.take(f"user {n}", "192.0.2.7") for n in range(ADDRESS_BURST)] == [0.0] * ADDRESS_BURST
    assert attempts.take("yet another", "192.0.2.7") > 0
    assert attempts.take("yet another", "192.0.2.8") == 0
    attempts = Attempts(Clock())
    assert [attempts.take("INES", f"192.0.2.{n}") for n in range(NAME_BURST)] == [0.0] * NAME_BURST
    assert attempts.take("ines ", "192.0.2.99") > 0


def test_a_log_in_clears_the_name_but_not_the_address() -> None:
    """Else one who has an own account could guess at others' for ever, by logging in between."""
    attempts = Attempts(Clock())
    for n in range(ADDRESS_BURST - 1):
        assert attempts.take(f"user {n}", "192.0.2.7") == 0
    assert attempts.take("own", "192.0.2.7") == 0
    attempts.went_well("own", "192.0.2.7")
    assert attempts.take("own", "192.0.2.7") == 0
    assert attempts.take("other", "192.0.2.7") > 0
    for _ in range(NAME_BURST - 1):
        attempts.take("Ines", "192.0.2.8")
    attempts.went_well("Ines", "192.0.2.8")
    assert [attempts.take("Ines", "192.0.2.9") for _ in range(NAME_BURST)] == [0.0] * NAME_BURST


@given(st.text(max_size=300), st.text(max_size=60))
def test_any_name_from_any_address_can_be_counted(name: str, address: str) -> None:
    attempts = Attempts(Clock())
    assert [attempts.take(name, address) for _ in range(NAME_BURST)] == [0.0] * NAME_BURST
    assert attempts.take(name, address) > 0
    assert len(name_key(name)) <= 60


def test_buckets_do_not_pile_up() -> None:
    attempts = Attempts(Clock())
    for n in range(12_000):
        attempts.take(f"user {n}", f"host {n}")
    assert len(vars(attempts)["_buckets"]) <= 10_000


def test_another_argon2_agrees_on_our_hash(tmp_path: Path) -> None:
    """The reference: Argon2id is the same function whoever computes it; here by the raw `kdf` over the salt in our text."""
    import base64

    _, _, _, costs, salt, digest = hashed("wet bilge pump", LIGHT).split("$")
    assert costs == "m=8,t=1,p=1"
    raw = argon2id.kdf(32, b"wet bilge pump", base64.b64decode(salt + "=="), 1, 8192)
    assert base64.b64encode(raw).decode().rstrip("=") == digest
