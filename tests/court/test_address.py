"""Where the court page is served."""

from pathlib import Path

import pytest

from feedwright.targets.machine.court import words
from feedwright.targets.machine.court.address import AddressRefused, address_of, certificate


@pytest.mark.parametrize(
    ("text", "name", "port"),
    [
        ("192.168.1.5", "192.168.1.5", 8437), ("court.local:9000", "court.local", 9000), ("[::1]:9000", "::1", 9000),
        ("::1", "::1", 8437), ("localhost", "localhost", 8437),
    ],
)  # fmt: skip
def test_an_address_is_read(text: str, name: str, port: int) -> None:
    found = address_of(text)
    assert (found.name, found.port) == (name, port)


@pytest.mark.parametrize("text", ["0.0.0.0", "::", "[::]:80", "a:b", ":80", "a:99999", "[::1]x"])
def test_all_addresses_at_once_and_nonsense_are_refused(text: str) -> None:
    with pytest.raises(AddressRefused):
        address_of(text)


def test_an_address_of_another_computer_is_refused_in_a_sentence() -> None:
    with pytest.raises(AddressRefused, match=r"no page can be served at 192\.0\.2\.7, port 8437: .+"):
        address_of("192.0.2.7").bound()


def test_a_port_in_use_is_refused_in_a_sentence() -> None:
    with address_of("127.0.0.1:0").bound() as used, pytest.raises(AddressRefused, match="Address already in use"):
        address_of(f"127.0.0.1:{used.getsockname()[1]}").bound()


def test_a_file_without_a_certificate_is_refused_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "x.pem"
    path.write_text("nothing")
    with pytest.raises(AddressRefused, match="holds no certificate"):
        certificate(str(path))
    with pytest.raises(AddressRefused, match="No such file"):
        certificate(str(tmp_path / "absent.pem"))


def test_ipv6_and_usual_ports_are_written_as_browsers_do() -> None:
    assert address_of("::1").authority(8437, False) == "[::1]:8437"
    assert address_of("Court.local:443").authority(443, True) == "court.local"
    assert words.here_alone("192.168.1.5").endswith("--court 192.168.1.5")
