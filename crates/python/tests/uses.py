"""What a user writes, for the type checker alone."""

from typing import Optional, Union

import goldward
from goldward import Reading, Settings

at: Settings = {"distance_m": 70, "face": "122"}
reading: Reading = goldward.read([(1, 2)], **at)
clicks: list[int] = reading.advice.clicks
many: list[Reading] = goldward.read_batch([[(1, 2)]], **at)
kept: list[Union[Reading, ValueError]] = goldward.read_batch([[(1, 2)]], errors="keep", **at)
best: Optional[str] = goldward.rehearse(rounds=10, **at).best_fixed
