"""Where the files of these tests lie."""

from pathlib import Path

HERE = Path(__file__).parent
BAD = HERE / "bad"
GOOD = HERE / "good.toml"
DEMO = HERE.parents[1] / "retrofit" / "demo"
