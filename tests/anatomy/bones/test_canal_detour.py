"""The way of the canal round what lies in its path, on simple solids."""

import numpy as np

from trainer.anatomy.bones.canal_detour import HALF_MM, LEAST_ROOM_MM, covered, led_round
from trainer.anatomy.shapes.implicit import box, sphere

PATH = np.column_stack([np.linspace(-25.0, 25.0, 64), np.zeros(64), np.zeros(64)])
BONE = box([0, 0, 0], [25, 9, 12])


def test_a_free_path_is_hardly_moved() -> None:
    """With nothing in the way a straight canal stays straight within a millimetre."""
    led = led_round(PATH, BONE, [sphere([0, 0, 30], 3.0)])
    assert np.abs(led[:, 1:]).max() < 1.0


def test_it_passes_a_root_with_room() -> None:
    """A ball in the path is passed with 1 mm of bone between, inside the bone, ends kept."""
    ball = sphere([2, 0, 2], 4.0)
    led = led_round(PATH, BONE, [ball])
    assert ball(led).min() - HALF_MM >= LEAST_ROOM_MM - 0.05
    assert covered(led, BONE)
    np.testing.assert_allclose(led[[0, -1]], PATH[[0, -1]], atol=1e-9)


def test_it_comes_back_into_the_bone() -> None:
    """A course above the bone is led down into it."""
    high = PATH.copy()
    high[:, 2] = 14.0 * np.sin(np.linspace(0, np.pi, 64))
    assert not covered(high, BONE)
    assert covered(led_round(high, BONE, []), BONE)


def test_the_same_every_time() -> None:
    """The same obstacles give the same path, bit for bit."""
    ball = sphere([2, 0, 2], 4.0)
    np.testing.assert_array_equal(led_round(PATH, BONE, [ball]), led_round(PATH, BONE, [ball]))
