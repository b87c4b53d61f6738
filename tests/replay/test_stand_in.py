"""The simulated machine as a user starts it."""

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.machine.replay.stand_in import Bench

from .world import LIMITS


def test_no_start_draws_the_words_of_another_unless_a_seed_is_given() -> None:
    def draws(seed: int | None) -> int:
        return Bench(LIMITS, "", seed, None, 0.0).device._random.getrandbits(64)

    # Two of 64 bits alike by chance: once in 2**64 runs.
    assert draws(None) != draws(None) and draws(7) == draws(7)


@pytest.mark.parametrize(
    ("name", "said"), [("nobody", "there is no profile nobody"), ("racket", "the profile racket names no device")]
)
def test_a_device_that_no_profile_describes(name: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["device", name]) == 2
    assert said in capsys.readouterr().err
