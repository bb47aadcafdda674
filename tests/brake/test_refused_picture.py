"""The picture of a bend that cannot be made shows metal where the tool that is named stands."""

from pathlib import Path

import pytest
from shapely.geometry import Polygon
from small_shop import HEAD, SHOP

from flatgen.jobs.trial import Trials

PARTS = {
    "channel": 'profile = "channel"\nweb = "3/4 in"\nflange = "3 in"\n',
    "jay": 'profile = "jay"\nback = "3 in"\nfloor = "3/4 in"\nfront = "1 in"\n',
}


@pytest.mark.parametrize("name", PARTS)
def test_metal_and_tool_share_room(tmp_path: Path, name: str) -> None:
    (tmp_path / "shop.toml").write_text(SHOP.replace('radius = "1/8 in"', 'radius = "1/8 in"\ndepth = "1 1/4 in"'))
    (tmp_path / "job.toml").write_text(f'{HEAD}[[part]]\nid = "R"\nquantity = 1\n{PARTS[name]}')
    trials = Trials(tmp_path / "job.toml")
    plan, findings = trials.braked(trials.look(0))
    (refused,) = plan.refused
    (told,) = [finding for finding in findings if finding.rule == "brake-collision"]
    assert told.where == f"bend {refused.bend}" and refused.tool in told.words("in")
    tool = Polygon([v[:2] for v in dict(refused.picture.tools)[refused.tool]])
    metal = [Polygon([v[:2] for v in outline]) for outline in refused.picture.after if len(outline) > 2]
    assert max(tool.intersection(one).area for one in metal) > 0.1
