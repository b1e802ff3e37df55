"""`lidoff desk`: serves the folder on this machine alone, says the link, and says in one sentence why it cannot."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from lidoff.desk.serving import ServingError, listening, serve


def test_the_link_opens_the_desk_and_nothing_else_does(tmp_path: Path):
    command = [sys.executable, "-m", "lidoff", "desk", str(tmp_path), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as desk:
        try:
            assert desk.stdout is not None
            line = desk.stdout.readline()
            link = re.search(r"http://127\.0\.0\.1:(\d+)/open\?token=\S{20,}", line)
            assert link is not None, line
            opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
            page = opener.open(link[0], timeout=10).read().decode()
            assert "Nothing lies here yet." in page
            with pytest.raises(urllib.error.HTTPError, match="403"):
                urllib.request.urlopen(f"http://127.0.0.1:{link[1]}/", timeout=10)
        finally:
            desk.send_signal(signal.SIGINT)
            assert desk.wait(15) in (0, 130, -signal.SIGINT)


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path):
    with pytest.raises(ServingError, match="there is no such folder"):
        serve(tmp_path / "none")
    with pytest.raises(ServingError, match="the one in which photographs arrive"):
        serve(tmp_path, photos=tmp_path / "none")


def test_a_port_that_is_taken_is_one_sentence(tmp_path: Path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(ServingError, match=r"cannot be used: .*; choose another with --port"):
            serve(tmp_path, port=other.getsockname()[1], browser=False)


@pytest.mark.parametrize("port", [-1, 70000])
def test_a_port_that_is_none_is_one_sentence(tmp_path: Path, port: int):
    with pytest.raises(ServingError, match="cannot be used"):
        serve(tmp_path, port=port, browser=False)


def test_the_desk_listens_on_this_machine_alone():
    with listening(0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"
