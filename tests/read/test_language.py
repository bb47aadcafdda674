"""What a description can say, from file to blank; each checked by a size worked out beside it."""

import math
from pathlib import Path

import pytest

from flatgen import library
from flatgen.checks.rules import run_checks
from flatgen.core.outline import area, bounds
from flatgen.core.points import placed
from flatgen.develop.develop import develop
from flatgen.errors import CannotMake, InputError
from flatgen.jobs.developed import develop_all
from flatgen.jobs.loading import load
from flatgen.read.sizes import read_sizes

DATA = Path(__file__).resolve().parent.parent / "data"
SHOP = (DATA / "six" / "shop.toml").read_text(encoding="utf-8")
HEAD = 'title = "T"\nunits = "mm"\nmaterial = "6061-T6"\nthickness = 1.0\nradius = 3.0\n'
PLATE = 'title = "Plate"\nunits = "mm"\nbase = "plate"\n'
LIP = '[flange.a]\non = "plate.top"\nheight = 20\n'
PART = '[[part]]\nid = "P"\nprofile = "own"\nquantity = 1\n'


@pytest.fixture
def parts(tmp_path):
    """Parts of a job with one profile "own", by id."""

    def made(profile, job=PART, **files):
        (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
        (tmp_path / "profiles").mkdir(exist_ok=True)
        (tmp_path / "profiles" / "own.toml").write_text(profile, encoding="utf-8")
        for name, text in files.items():
            path = tmp_path / "profiles" / name.replace("_", ".")
            path.write_bytes(text) if isinstance(text, bytes) else path.write_text(text, encoding="utf-8")
        (tmp_path / "job.toml").write_text(HEAD + job, encoding="utf-8")
        job_ = load(tmp_path / "job.toml")
        return {part.id: (part, develop(part, job_.shop, "handbook")) for part in job_.parts}

    return made


def test_formed_size_of_round_parts_is_that_of_the_arcs(parts):
    """A disc of 60 is 60 across, whichever way it stands; once its chords were measured."""
    disc = "points = [{ to = [0, 0], radius = 30 }, { to = [60, 0], radius = 30 }]\n"
    _, blank = parts(PLATE + "[face.plate]\n" + disc)["P"]
    assert (60.0, 60.0, 1.0) == pytest.approx(blank.formed_size, abs=1e-9)
    ear = '[flange.ear]\non = "plate.top"\nangle = 60\nmeasured = "tangent"\nedge_measured = "tangent"\n'
    ear += "points = [[0, 0], [40, 0], [40, 20], { to = [0, 20], radius = 20 }]\n"
    _, blank = parts(PLATE + "[face.plate]\nsize = [40, 50]\n" + ear)["P"]
    r = blank.bends[0].bent.inside_radius
    # what the bend itself rises, then 20 and half a circle of 20 at 60 degrees, and the metal below the base
    high = (r * 0.5 + 40.0 * math.sin(math.radians(60.0))) + 1.0
    assert high == pytest.approx(blank.formed_size[2], abs=1e-9)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            "",
            r'flange "lip": it turns through 170°; from 165° on .* give lip to the tangent line \(measured',
        ),
        ('measured = "fold"\n', r'so give plate to the tangent line \(edge_measured = "tangent"\)'),
    ],
)
def test_sizes_of_a_nearly_closed_bend_are_not_taken_to_its_mould_lines(parts, more, said):
    """Trade practice (no source): sizes of a fold this tight are given to the tangent or over the outside."""
    lip = '[flange.lip]\non = "plate.top"\nheight = 30\nangle = {}\n'
    with pytest.raises(InputError, match=said):
        parts(PLATE + "[face.plate]\nsize = [100, 60]\n" + lip.format(170) + more)
    parts(PLATE + "[face.plate]\nsize = [100, 60]\n" + lip.format(160))
    parts(PLATE + "[face.plate]\nsize = [100, 60]\n" + lip.format(170) + 'edge_measured = "fold"\nmeasured = "fold"\n')


def test_outline_with_arcs(parts):
    # a strip of 60 by 20 with a half-round end, then a bite of radius 10 out of the other end
    profile = PLATE + (
        "[face.plate]\npoints = [[0, 0], [60, 0], { to = [60, 20], through = [70, 10] },"
        ' { to = [0, 20] , radius = 100, turn = "left" }]\n'
    )
    _, blank = parts(profile)["P"]
    sagitta_area = 100.0**2 / 2.0 * (2.0 * math.asin(0.3) - math.sin(2.0 * math.asin(0.3)))
    assert 60.0 * 20.0 + math.pi * 100.0 / 2.0 + sagitta_area == pytest.approx(blank.area, abs=1e-9)
    assert any(abs(b - 1.0) < 1e-12 for *_, b in blank.outline)  # the half circle is still one arc


def test_a_bend_between_round_ends_reaches_both_arcs(parts):
    """Ends of sagitta 10 on a chord of 30 are of radius 16.25; the flat ends R + T below the mould line."""
    ends = "[face.plate]\npoints = [[0, 0], [60, 0], { to = [60, 30], through = [70, 15] }, [0, 30],"
    ends += ' { to = [0, 0], through = [-10, 15] }]\nedges = ["foot", "right", "top", "left"]\n'
    _, blank = parts(PLATE + ends + LIP)["P"]
    high = 15.0 - blank.bends[0].bent.inside_radius - 1.0
    (x, _), (x2, _) = blank.bends[0].tangents[0]
    assert 47.5 + 2.0 * math.sqrt(16.25**2 - high**2) == pytest.approx(abs(x2 - x))


def test_list_that_comes_back_to_its_first_corner_is_closed_there(parts):
    own = PLATE + "[face.plate]\npoints = {}\n"
    _, square = parts(own.format("[[0, 0], [40, 0], [40, 20], [0, 20], [0, 0]]"))["P"]
    assert (4, 800.0) == (len(square.outline), pytest.approx(square.area))
    ends = "[[0, 0, 2], [40, 0], [40, 20], [0, 20], { to = [0, 0], through = [-10, 10] }]"
    _, round_end = parts(own.format(ends.replace(", 2]", "]")))["P"]
    assert 800.0 + 50.0 * math.pi == pytest.approx(round_end.area)
    _, disc = parts(own.format("[[0, 0], { to = [60, 0], radius = 30 }, { to = [0, 0], radius = 30 }]"))["P"]
    assert 900.0 * math.pi == pytest.approx(disc.area)


@pytest.mark.parametrize(
    ("rest", "said"),
    [
        ("height = 3\n", 'flange "lip" is no higher than its bends take; make it more than 4.000 mm'),
        ("height = 20\nangle = 0\n", "so leave the flange out (when)"),
        (
            'height = 20\n[[relief]]\nflange = ["lip"]\nkind = "drilled"\ndepth = 2\n',
            "has no depth; give its width alone",
        ),
        ('height = "deep"\n[derived]\ndeep = "20 mm/(3 - 3)"\n', 'own.toml, line 10, part "P", derived value deep'),
        ('height = "9000*thickness*99999"\n', "no part or sheet here is longer than 100 m"),
        (
            'height = 20\n[[holes]]\nface = "plate"\nbolt = "1/4 in"\nat = [9, 9]\n',
            "add a [[drill]] with this fastener to shop.toml, or give the hole its drill",
        ),
    ],
)
def test_what_is_wrong_with_a_flange_says_what_to_do(parts, rest, said):
    with pytest.raises(InputError) as caught:
        parts(PLATE + '[face.plate]\nsize = [100, 60]\n[flange.lip]\non = "plate.top"\n' + rest)
    assert said in str(caught.value)


OPENING = '[[opening]]\nface = "plate"\n'
TAB = '[[tabs]]\nface = "plate"\nedge = "{}"\nalong = {}\nsize = [10, 3]\n'
SHEET = '[flange.a]\non = "plate.top"\n'
ARCH = "points = [[0, 0], [100, 0], [100, 40], { to = [0, 40], radius = 60 }]\nedges = ['b', 'r', 't', 'l']\n"
RECTANGLE = "size = [100, 60]\n"
HOLES = '[[holes]]\nface = "plate"\ndrill = 5\n'


@pytest.mark.parametrize(
    ("face", "rest", "said"),
    [
        (
            RECTANGLE,
            HOLES + "from = [9, 9]\nto = [90, 9]\npitch = 5\ncount = 3\n",
            "its count or its largest pitch, not both",
        ),
        (RECTANGLE, HOLES + "at = [9, 9]\npitch = 5\n", "pitch: a pattern given by at does not use it; leave it out"),
        (RECTANGLE, HOLES + "center = [50, 30]\ncircle = 20\n", "a bolt circle needs its count"),
        (RECTANGLE, HOLES + "at = [9, 9]\nturned = 30\n", "turned: only a pattern taken over by same_as is moved"),
        (RECTANGLE, HOLES + 'at = [9, 9]\nrivet = "1/8 in"\nbolt = "3/16 in"\n', "for a rivet or for a bolt"),
        (
            RECTANGLE,
            OPENING + 'shape = "slot"\nat = [50, 30]\nsize = [20, 5]\ncorner_round = 2\n',
            "corner_round: an opening of",
        ),
        (RECTANGLE, OPENING + 'shape = "round"\nat = [50, 30]\nsize = [20, 5]\n', "one size, its diameter"),
        (RECTANGLE, OPENING + 'shape = "rectangle"\nat = [500, 30]\nsize = [20, 5]\n', "lies off the metal"),
        (RECTANGLE, OPENING + 'shape = "notch"\nedge = "top"\nalong = 500\nsize = [20, 5]\n', "lies off the metal"),
        (RECTANGLE, LIP + TAB.format("top", "50"), "does not lie on a free straight part of edge"),
        (
            RECTANGLE,
            TAB.format("top", "[50, 55]"),
            "the tab from 50.00 mm to 60.00 mm does not lie on a free straight part",
        ),
        (ARCH, TAB.format("t", "50"), 'edge "t" is an arc; a tab wants a straight edge'),
        (ARCH, '[flange.f]\non = "plate.t"\nheight = 20\n', "which is an arc; a bend wants a straight edge"),
        (RECTANGLE + "corner_round = 5\ncorner_clip = 3\n", "", "corner_round or corner_clip, not both"),
        (RECTANGLE, LIP + "points = [[0, 0], [100, 0], [50, 30]]\n", "has its height and ends from them"),
        (RECTANGLE, SHEET + "points = [[0, 0], [100, 0], [50, -30]]\n", "the outline reaches below the bend"),
        (RECTANGLE, LIP + '[flange.b]\non = "a.bend"\nheight = 9\n', 'itself is bent up at its edge "bend"'),
        (RECTANGLE, "[parameter.pi]\ndefault = 3\n", '"pi" cannot be a name in formulas'),
        (RECTANGLE, "[derived]\nn = '3'\n", '"n" cannot be a name in formulas'),
    ],
)
def test_what_would_be_read_in_vain_is_refused(parts, face, rest, said):
    """Keys that another makes idle, and metal cut or added where there is none: once passed over in silence."""
    with pytest.raises((InputError, CannotMake)) as caught:
        parts(PLATE + "[face.plate]\n" + face + rest)
    assert said in str(caught.value)


def test_bare_default_is_in_the_unit_it_stands_under(parts):
    """The default { in = 4, mm = 100 } of a profile in inches was 2.54 m in a job of millimetres."""
    own = (
        PLATE.replace('units = "mm"', 'units = "in"') + "[parameter.w]\ndefault = { in = 4, mm = 100 }\nleast = 0.125\n"
    )
    own += '[face.plate]\nsize = ["w", "60 mm"]\n'
    _, blank = parts(own)["P"]
    assert 100.0 == pytest.approx(blank.width)
    with pytest.raises(InputError, match='3 is too small; "w" must be at least 3.175 mm'):
        parts(own, PART + "w = 3\n")


def test_entry_to_paste_keeps_the_unit_of_a_bare_default(tmp_path):
    """A default of 100 in a profile of millimetres was pasted as 100 in where inches were shown."""
    (tmp_path / "profiles").mkdir()
    own = PLATE + '[parameter.w]\ndefault = 100\nleast = 25.4\n[face.plate]\nsize = ["w", 60]\n'
    (tmp_path / "profiles" / "own.toml").write_text(own, encoding="utf-8")
    one = library.entry("own", tmp_path)
    assert 'w = "100 mm"' in library.job_entry(one, "in")
    assert "at least 1 in" == library.range_of(one, one.parameters[0], "in")
    assert "at least 25.4" == library.range_of(one, one.parameters[0], "mm")


def test_profile_without_units_is_refused_among_millimetres(parts):
    """Its bare numbers would be inches: a plate of 100 came out 2.54 m long."""
    with pytest.raises(InputError, match='own.toml, line 1, profile "own": it does not say its units'):
        parts(PLATE.replace('units = "mm"\n', "") + "[face.plate]\nsize = [100, 60]\n")


def test_clockwise_corners_keep_their_edges(parts):
    flange = '[flange.lip]\non = "plate.long"\nheight = 20\n'
    right = 'points = [[0, 0], [80, 0], [80, 30], [0, 30]]\nedges = ["long", "b", "c", "d"]\n'
    turned = 'points = [[0, 0], [0, 30], [80, 30], [80, 0]]\nedges = ["d", "c", "b", "long"]\n'
    one = parts(PLATE + "[face.plate]\n" + right + flange)["P"][1]
    two = parts(PLATE + "[face.plate]\n" + turned + flange)["P"][1]
    assert (one.width, one.height) == pytest.approx((two.width, two.height))


def test_outline_from_a_dxf(parts):
    import ezdxf

    document = ezdxf.new(units=4)  # millimetres
    space = document.modelspace()
    space.add_line((10, 10), (90, 10))
    space.add_line((90, 40), (90, 10))  # backward
    space.add_arc((80, 40), 10, 0, 90)
    space.add_line((80, 50), (10, 50))
    space.add_line((10, 50), (10, 10))
    space.add_circle((30, 30), 5)
    space.add_lwpolyline([(50, 20, 0), (60, 20, 0), (60, 30, 0), (50, 30, 0)], format="xyb", close=True)
    import io

    text = io.StringIO()
    document.write(text)
    profile = PLATE + '[face.plate]\noutline = "own.dxf"\nedges_at = { long = [40, 0] }\n'
    profile += '[flange.lip]\non = "plate.long"\nheight = 20\n'
    part, blank = parts(profile, own_dxf=text.getvalue())["P"]
    r = blank.bends[0].bent.inside_radius  # the shop's nose
    lip = 20.0 - (r + 1.0) + (0.01743 * r + 0.0078) * 90.0 - (r + 1.0)  # trade: SB = R + T at 90, handbook allowance
    net = 80.0 * 40.0 - (1.0 - math.pi / 4.0) * 100.0 - math.pi * 25.0 - 100.0 + 80.0 * lip
    assert net == pytest.approx(blank.area, abs=1e-6)
    assert [10.0] == [hole.diameter for hole in part.holes]
    assert any(abs(b) > 0.1 for *_, b in blank.outline)


def test_outline_from_an_svg(parts):
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
        '<path d="M 0 0 H 80 A 20 20 0 0 1 80 40 H 0 Z"/><circle cx="20" cy="20" r="4"/></svg>'
    )
    part, blank = parts(PLATE + '[face.plate]\noutline = "own.svg"\n', own_svg=svg)["P"]
    assert 80.0 * 40.0 + math.pi * 200.0 - math.pi * 16.0 == pytest.approx(blank.area, rel=1e-6)
    # the format's y counts downward: a hole 20 from its top is 20 from the blank's upper edge
    assert (20.0, 20.0) == pytest.approx(part.holes[0].center, abs=1e-6)


def test_svg_without_a_scale_is_refused(parts):
    svg = '<svg xmlns="http://www.w3.org/2000/svg"><rect width="10" height="5"/></svg>'
    with pytest.raises(InputError, match="its scale is not known; give file_units"):
        parts(PLATE + '[face.plate]\noutline = "own.svg"\n', own_svg=svg)
    _, blank = parts(PLATE + '[face.plate]\noutline = "own.svg"\nfile_units = "in"\n', own_svg=svg)["P"]
    assert (254.0, 127.0) == pytest.approx((blank.width, blank.height))


def test_open_outline_says_where_it_ends(parts):
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"><path d="M 0 0 H 8 V 5"/></svg>'
    with pytest.raises(InputError, match="nothing goes on from there; close the outline"):
        parts(PLATE + '[face.plate]\noutline = "own.svg"\n', own_svg=svg)


def test_row_on_a_flange_is_evened_out_between_its_ends(parts):
    # the flange between two walls is as wide as the flat: 100 less R + T at each side
    profile = PLATE + '[face.plate]\nsize = [100, 60]\n[flange.n]\non = "plate.top"\nheight = 30\n'
    profile += '[flange.e]\non = "plate.right"\nheight = 30\n[flange.w]\non = "plate.left"\nheight = 30\n'
    profile += (
        '[[holes]]\nface = "n"\ndrill = "3 mm"\nedge = "free"\nedge_distance = 8\nfirst = 10\nlast = 10\npitch = 20\n'
    )
    part, _ = parts(profile)["P"]
    xs = sorted(hole.center[0] for hole in part.holes)
    ends = (4.0 + 10.0, 100.0 - 4.0 - 10.0)
    assert ends == pytest.approx((xs[0], xs[-1]))
    pitches = [b - a for a, b in zip(xs, xs[1:], strict=False)]
    assert 5 == len(xs) and [(ends[1] - ends[0]) / 4] * 4 == pytest.approx(pitches)
    assert all(hole.center[1] == 30.0 - 8.0 for hole in part.holes)


def test_repeated_flanges_and_condition(parts):
    profile = PLATE + '[parameter.lugs]\nkind = "count"\ndefault = 3\n[face.plate]\nsize = [120, 40]\n[flange.lug]\n'
    profile += 'on = "plate.top"\nheight = 15\nrepeat = "lugs"\nspan = ["(n-1)*40 + 5", "(n-1)*40 + 25"]\n'
    profile += 'relief = "square-ended"\n'
    profile += '[[holes]]\nface = "lug"\ndrill = "3 mm"\nat = ["10", "10"]\n'
    part, _ = parts(profile)["P"]
    assert ["lug_1", "lug_2", "lug_3"] == [bend.child for bend in part.bends]
    assert [(5, 25), (45, 65), (85, 105)] == [bend.span for bend in part.bends]
    part, _ = parts(profile, PART + "lugs = 0\n")["P"]
    assert () == part.bends and () == part.holes


def test_derived_value_that_uses_the_number_is_worked_out_for_each(parts):
    profile = PLATE + '[derived]\nstart = "(n-1)*40 mm + 5 mm"\nend = "start + wide"\nwide = "20 mm"\n'
    profile += '[face.plate]\nsize = [120, 40]\n[flange.lug]\non = "plate.top"\nheight = 15\nrepeat = 3\n'
    profile += 'span = ["start", "end"]\nrelief = "square-ended"\n'
    part, _ = parts(profile)["P"]
    assert [(5, 25), (45, 65), (85, 105)] == [bend.span for bend in part.bends]


def test_bolt_circles_and_grids_lie_where_the_drawing_puts_them(parts):
    """Five on a circle of 24 from 90 degrees on; two rows of three about a middle, and from a corner. By head."""
    holes = '[[holes]]\nface = "plate"\ndrill = "3 mm"\n'
    plate = PLATE + "[face.plate]\nsize = [120, 70]\n"

    def places(rest):
        return [hole.center for hole in parts(plate + holes + rest)["P"][0].holes]

    found = places("center = [50, 30]\ncircle = 24\ncount = 5\nstart = 90\n")
    assert (50.0, 42.0) == pytest.approx(found[0])
    assert 50.0 - 12.0 * math.sin(math.radians(72.0)) == pytest.approx(found[1][0])
    assert [12.0] * 5 == pytest.approx([math.dist(one, (50.0, 30.0)) for one in found])
    wanted = [(30.0, 25.0), (50.0, 25.0), (70.0, 25.0), (30.0, 41.0), (50.0, 41.0), (70.0, 41.0)]
    for rest in ("center = [50, 33]\n", "from = [30, 25]\n"):
        found = places(rest + "pitch = [20, 16]\ncount = [3, 2]\n")
        assert wanted == [pytest.approx(one) for one in sorted(found, key=lambda one: (one[1], one[0]))]


def test_corners_by_their_edges_and_slots(parts):
    """A corner rounded by 8 loses 8²(1 - π/4), one clipped 6 by 10 loses 30; a slot 20 by 5 is 15 · 5 and a disc."""
    plate = PLATE + "[face.plate]\nsize = [120, 70]\n"
    whole = 120.0 * 70.0
    corner = '[[corner]]\nface = "plate"\nbetween = ["right", "top"]\n'
    _, blank = parts(plate + corner + "round = 8\n")["P"]
    assert whole - 64.0 * (1.0 - math.pi / 4.0) == pytest.approx(blank.area, abs=1e-6)
    _, blank = parts(plate + corner + "clip = [6, 10]\n")["P"]
    assert whole - 30.0 == pytest.approx(blank.area, abs=1e-6)
    slot = '[[opening]]\nface = "plate"\nshape = "slot"\nat = [50, 30]\nsize = [20, 5]\n'
    _, blank = parts(plate + slot)["P"]
    assert whole - 75.0 - math.pi * 6.25 == pytest.approx(blank.area, abs=1e-6)


def test_notches_square_and_vee(parts):
    profile = PLATE + '[face.plate]\nsize = [100, 50]\n[[opening]]\nface = "plate"\nshape = "notch"\nedge = "top"\n'
    profile += 'along = [30, 70]\nsize = [10, 8]\ncorner_round = 2\n[[opening]]\nface = "plate"\nshape = "vee"\n'
    profile += 'edge = "left"\nalong = 25\nsize = [12, 9]\n'
    _, blank = parts(profile)["P"]
    square = 80.0 - 2.0 * (1.0 - math.pi / 4.0) * 4.0
    assert 5000.0 - 2.0 * square - 12.0 * 9.0 / 2.0 == pytest.approx(blank.area, abs=1e-9)


def test_pattern_is_shared_by_two_parts_whichever_comes_first(parts):
    profile = PLATE + "[face.plate]\nsize = [100, 50]\n"
    follower = '[[part]]\nid = "B"\nprofile = "own"\nquantity = 1\n[[part.holes]]\nface = "plate"\nsame_as = "A.row"\n'
    leader = '[[part]]\nid = "A"\nprofile = "own"\nquantity = 1\n[[part.holes]]\nface = "plate"\nname = "row"\n'
    leader += 'rivet = "1/8 in"\nfrom = [20, 10]\npitch = 15\ncount = 4\n'
    moved = 'mirrored = "x"\nshift = [100, 0]\ndrill = "4 mm"\n'
    made = parts(profile, follower + moved + leader)
    places = {name: [hole.center for hole in made[name][0].holes] for name in "AB"}
    assert ["B", "A"] == list(made)
    assert [100.0 - x for x, _ in places["A"]] == pytest.approx([x for x, _ in places["B"]])
    assert [y for _, y in places["A"]] == pytest.approx([y for _, y in places["B"]])
    assert {4.0} == {hole.diameter for hole in made["B"][0].holes}
    made = parts(profile, leader + follower)
    assert [h.diameter for h in made["A"][0].holes] == [h.diameter for h in made["B"][0].holes]


def test_fit_to_a_mate_is_measured(parts):
    profile = PLATE + "[parameter.web]\ndefault = 50\n" + '[face.plate]\nsize = [100, "web"]\n'
    profile += '[flange.a]\non = "plate.top"\nheight = 20\n[flange.b]\non = "plate.bottom"\nheight = 20\n'
    inner = '[[part]]\nid = "IN"\nprofile = "own"\nquantity = 1\nweb = 50\n'
    outer = (
        '[[part]]\nid = "OUT"\nprofile = "own"\nquantity = 1\nweb = {}\n[[part.fits]]\nface = "plate"\npart = "IN"\n'
    )
    outer += 'their_face = "plate"\nclearance = 0.5\nallowed = 0.1\n'
    # inside 52.5 − 2T = 50.5: half a millimetre of play over a mate of 50
    for web, wrong in ((52.5, False), (52.7, True), (50.0, True)):
        part, blank = parts(profile, outer.format(web) + inner)["OUT"]
        job_shop = load_shop()
        found = [f for f in run_checks(part, blank, job_shop) if f.rule == "fit-to-mate"]
        assert wrong == bool(found)
    assert "goes over plate of IN with" in found[0].words("in")


def load_shop():
    from flatgen.read.shop import read_shop

    return read_shop(DATA / "six" / "shop.toml")


@pytest.mark.parametrize(("fold", "ways"), [("up", ["up", "down"]), ("down", ["down", "up"])])
def test_a_joggle_goes_the_way_it_is_told(parts, fold, ways):
    """The landing lies that much above the plate, or below, as formed."""
    joggle = '[joggle.end]\non = "plate.right"\noffset = 3\nlength = 15\nheight = 20\n'
    _, blank = parts(PLATE + "[face.plate]\n" + SQUARE_PLATE + joggle + f'fold = "{fold}"\n', PART)["P"]
    assert ways == [bend.direction for bend in blank.bends]
    end = blank.face("end")
    heights = {round(placed(end.frame, (x, y, 0.0))[2], 6) for x, y, _ in end.outline}
    assert {3.0 if fold == "up" else -3.0} == heights


SQUARE_PLATE = "size = [100, 50]\n"
# corners that mirror each other, but one half of the foot is hollow
HOLLOW = 'points = [[0, 0], { to = [50, 0], radius = 80, turn = "right" }, [100, 0], [100, 50], [0, 50]]\n'
HOLLOW += 'edges = ["foot", "foot_2", "right", "top", "left"]\n'
AWAY = '[flange.b]\non = "plate.bottom"\nheight = 20\nfold = "{}"\nspan = [60, 90]\n'
NEAR_LIP = LIP + "span = [10, 40]\n"
LOPSIDED = '[[part.holes]]\nface = "plate"\ndrill = "3 mm"\nat = [20, 10]\n'
CENTRAL = '[[part.holes]]\nface = "plate"\ndrill = "3 mm"\nat = [50, 10]\n'
MARKED = 'marked = "upper"\n'


def test_a_tip_that_is_thinner_than_a_scribed_line_is_told(parts):
    """A spike 0.2 mm wide at its foot and 6 high is to be clipped; a blunt one as high is left alone."""
    spike = "points = [[0, 0], [60, 0], [60, 30], [{}, 30], [30, 36], [{}, 30], [0, 30]]\n"
    found = []
    for half in (0.1, 5):
        part, blank = parts(PLATE + "[face.plate]\n" + spike.format(30 + half, 30 - half))["P"]
        found += [one for one in run_checks(part, blank, load_shop()) if one.rule == "neck"]
    assert ["warn"] == [str(one.severity) for one in found]
    assert "the metal ends in a tip narrower than 0.25 mm over more than that, at 30.0" in found[0].words("mm")
    assert found[0].words("mm").endswith("round or clip the corner")


@pytest.mark.parametrize(
    ("face", "rest", "job", "said"),
    [
        (SQUARE_PLATE, LIP, "", "left and right are the same part"),
        (SQUARE_PLATE, LIP, LOPSIDED, "blank turned over"),
        (SQUARE_PLATE, LIP, MARKED + LOPSIDED, "cut as a mirror image"),
        # mirrored in its own middle, its marked side stays where it is
        (SQUARE_PLATE, LIP, MARKED + CENTRAL, "left and right are the same part"),
        (HOLLOW, LIP, "", "blank turned over"),
        # half a turn lays each lip where the other was; turned over, up is down
        (SQUARE_PLATE, NEAR_LIP + AWAY.format("down"), "", "left and right are the same part"),
        (SQUARE_PLATE, NEAR_LIP + AWAY.format("down"), MARKED, "cut as a mirror image"),
        (SQUARE_PLATE, NEAR_LIP + AWAY.format("up"), "", "blank turned over"),
        # a flat plate that mirrors itself in a line that runs askew
        ("points = [[0, 0], [80, 0], [95, 25], [69.28203230275509, 40]]\n", "", "", "blank turned over"),
        ("points = [[0, 0], [80, 0], [80, 20], [57.3205080757, 59.2820323028], [40, 69.2820323028]]\n", "", "", "same"),
    ],
)
def test_hands_say_what_is_true(parts, face, rest, job, said):
    part, blank = parts(PLATE + "[face.plate]\n" + face + rest, PART + 'hand = "pair"\n' + job)["P-R"]
    assert [said in f.words("mm") for f in run_checks(part, blank, load_shop()) if f.rule == "hand"] == [True]


def test_each_bend_may_state_its_own(parts):
    profile = PLATE + '[face.plate]\nsize = [100, 50]\n[flange.a]\non = "plate.top"\nheight = 20\nradius = 6.35\n'
    profile += 'deduction = 4.0\n[flange.b]\non = "plate.bottom"\nheight = 20\nangle = 45\nneutral_axis_ratio = 0.4\n'
    job = PART + 'allowance = "neutral-axis"\n'
    part, _ = parts(profile, job)["P"]
    assert (4.0, None) == tuple(bend.deduction for bend in part.bends)
    assert (None, 0.4) == tuple(bend.neutral_axis_ratio for bend in part.bends)


def test_tray_of_average_difficulty_is_short():
    text = (DATA / "language" / "tray.toml").read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 30
    (made,) = develop_all(load(DATA / "language" / "tray-job.toml"))
    assert (4, 4, 20) == (len(made.part.reliefs), len(made.blank.bends), len(made.blank.holes))


def test_job_of_the_language_folder_has_a_shop():
    assert (DATA / "language" / "shop.toml").is_file()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (b"\xef\xbb\xbfid,web\r\nA,2\r\n", {"id": "A", "web": "2"}),
        (b'id;web\r\nA;"50,8"\r\n', {"id": "A", "web": "50,8"}),
        (b'id,web\nA,"1-3/16"""\n', {"id": "A", "web": '1-3/16"'}),
        (b'id,web\nA,1-3/16"\n', {"id": "A", "web": '1-3/16"'}),
        (b"id\tweb\nA\t50.8\n", {"id": "A", "web": "50.8"}),
        (b"# from the plans\n\nid,web\nA, 2 \n,\n", {"id": "A", "web": "2"}),
        (b"sep=;\r\nid;web\r\nA;50,8\r\n", {"id": "A", "web": "50,8"}),
        (b"id,web\n# spares,\nA,2\n", {"id": "A", "web": "2"}),
        ("\ufeffid\tweb\r\nA\t2\r\n".encode("utf-16-le"), {"id": "A", "web": "2"}),
    ],
)
def test_what_spreadsheets_write(tmp_path, text, expected):
    path = tmp_path / "sizes.csv"
    path.write_bytes(text)
    assert expected == read_sizes(path, "mm").rows[0].cells


def test_decimal_comma_and_inch_mark_come_to_the_same_web(parts, tmp_path):
    profile = PLATE + '[parameter.web]\ndefault = 50\n[face.plate]\nsize = [100, "web"]\n'
    job = '[[part]]\nprofile = "own"\nquantity = 1\nsizes = "sizes.csv"\n'
    (tmp_path / "sizes.csv").write_bytes(b'id;web\nA;"30,1625"\nB;"1-3/16"""\n')
    made = parts(profile, job)
    assert 30.1625 == pytest.approx(made["A"][1].height) == pytest.approx(made["B"][1].height)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"id,web\nA,30,16\n", "sizes.csv, line 2: this row has 3 cells under 2 columns"),
        (b"id,web\nA,ten\n", 'sizes.csv, line 2, part "A", web: "ten" is not a length'),
        (b"id,wbe\nA,30\n", 'line 2, column "wbe": there is no key or parameter "wbe". Did you mean "web"?'),
        (b"id,web\nA,30\nA,31\n", 'line 3, part "A": this id is used twice'),
        (b"web\n30\n", 'line 1: there is no column "id"'),
        (b"id,web\nA,\xff\n", "line 2: this is not UTF-8 text"),
        # a size left out, as merged cells leave it, is no size of the library's choosing
        (b"id,web\nA,30\nB,\n", 'line 3, part "B", column "web": the cell is empty'),
        (b"id,web\nA,30\nB\n", 'line 3, part "B", column "web": the cell is empty'),
        (b"id;web\nA;1.200\n", '"1.200" may mean 1200 or a part of it'),
        (b"id;web\nA;1.200,5\n", '"1.200,5" may mean 1200 or a part of it'),
        (b'id,web\nA,"1,200"\n', '"1,200" may mean 1200 or a part of it'),
        (b"id;web;quantity\nA;30;1.000\n", '"1.000" may mean 1000 or 1'),
        (b"id,web\nA,1 3/16\n", '"1 3/16" is a fraction without a unit among millimetres'),
        (b"id,web,\nA,30,6\n", 'line 2: column 3 has no name, but "6" in this row'),
        (b"id,web\n", "the table has no row below the names of its columns"),
        (b"", "the table is empty"),
    ],
)
def test_table_that_cannot_be_read_names_row_and_column(parts, tmp_path, text, said):
    profile = PLATE + '[parameter.web]\ndefault = 50\n[face.plate]\nsize = [100, "web"]\n'
    (tmp_path / "sizes.csv").write_bytes(text)
    with pytest.raises(InputError) as caught:
        parts(profile, '[[part]]\nprofile = "own"\nquantity = 1\nsizes = "sizes.csv"\n')
    assert said in str(caught.value)


def test_box_with_relief_holes_as_published(parts):
    """FAA-H-8083-31, ch. 4, folding a box: a hole at each crossing of the inside bend tangent lines, 2R across.

    Open box 4 by 3, walls 1, T .032, R .125 in (handbook notes 15, derived with the handbook's formula): blank 5.809103
    by 4.809103, hole centres 1.061551 from both edges. 2R is .250; its edge lies .125 beyond the tangents, which is
    more than the 1/32 to 1/16 that the book asks for.
    """
    profile = PLATE.replace("mm", "in") + '[face.plate]\nsize = [4, 3]\ncorner_round = "1/4 in"\n'
    for name, edge in (("n", "top"), ("s", "bottom"), ("e", "right"), ("w", "left")):
        profile += f'[flange.{name}]\non = "plate.{edge}"\nheight = 1\n'
    profile += '[[relief]]\nflange = ["n", "s", "e", "w"]\nkind = "drilled"\n'
    _, blank = parts(profile, PART + 'thickness = "0.032 in"\nradius = "1/8 in"\n')["P"]
    assert (5.809103, 4.809103) == pytest.approx((blank.width / 25.4, blank.height / 25.4), abs=5e-7)
    # what is left of each hole in the outline is three quarters of it: its centre from the arcs' ends
    arcs = [
        (p, q, b) for (*p, b), (*q, _) in zip(blank.outline, (*blank.outline[1:], blank.outline[0]), strict=True) if b
    ]
    from flatgen.core.arcs import arc_of

    centers = sorted(tuple(c / 25.4 for c in arc_of(p, q, b).center) for p, q, b in arcs)
    far = (blank.width / 25.4 - 1.061551, blank.height / 25.4 - 1.061551)
    expected = [(1.061551, 1.061551), (1.061551, far[1]), (far[0], 1.061551), far]
    for center in centers:
        assert min(math.dist(center, place) for place in expected) < 2e-6
    assert 4 == len({(round(x, 3), round(y, 3)) for x, y in centers})
    assert {3.175} == {round(arc_of(p, q, b).radius, 6) for p, q, b in arcs}


def test_areas_are_net_of_what_reliefs_take(parts):
    profile = PLATE + '[face.plate]\nsize = [100, 50]\n[flange.a]\non = "plate.top"\nheight = 20\nspan = [20, 80]\n'
    profile += 'beside = "edge"\nrelief = "round-ended"\n'
    _, blank = parts(profile)["P"]
    assert area(blank.outline) == pytest.approx(blank.area)
    box = bounds([blank.outline])
    assert (0.0, 0.0) == pytest.approx(box[:2])


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("own_svg", "<svg", "cannot be read as SVG"),
        ("own_svg", "<html/>", "its root is no svg element"),
        ("own_svg", '<svg xmlns="http://www.w3.org/2000/svg" width="9mm"><path d="M 0 C 1"/></svg>', "own.svg"),
        ("own_dxf", "0\nSECTION\n", "own.dxf"),
        ("own_dxf", "\x00\x01", "own.dxf"),
        ("own_dxf", "", "own.dxf"),
    ],
)
def test_damaged_outline_file_gives_a_sentence(parts, name, text, said):
    file = name.replace("_", ".")
    with pytest.raises(InputError, match="own.toml, line") as caught:
        parts(PLATE + f'[face.plate]\noutline = "{file}"\n', **{name: text})
    assert said in str(caught.value)


@pytest.mark.parametrize(("key", "lost"), [("corner_round", 25.0 * (1.0 - math.pi / 4.0)), ("corner_clip", 12.5)])
def test_corners_of_mitred_flanges_are_shaped_as_said(parts, key, lost):
    # square walls: their mitre is square to the bend, so each of the four free corners is a right one of size 5
    profile = PLATE + "[face.plate]\nsize = [100, 80]\n"
    profile += '[flange.north]\non = "plate.top"\nheight = 30\n#\n[flange.east]\non = "plate.right"\nheight = 30\n#\n'
    profile += '[[mitre]]\nflanges = [["north", "east"]]\ngap = 0.5\n[[relief]]\nflange = ["north", "east"]\n'
    profile += 'kind = "drilled"\n'
    sharp = parts(profile)["P"][1]
    shaped = parts(profile.replace("#", f"{key} = 5"))["P"][1]
    assert 4.0 * lost == pytest.approx(sharp.area - shaped.area, abs=1e-6)


def test_mitred_returns_are_rounded_at_their_own_angle(parts):
    # cut to halve a square corner: 135 degrees are left between cut and free edge; a fillet takes r²(cot 67.5° - π/8)
    profile = PLATE + "[face.plate]\nsize = [100, 80]\n"
    profile += '[flange.north]\non = "plate.top"\nheight = 30\n[flange.east]\non = "plate.right"\nheight = 30\n'
    profile += '[flange.a]\non = "north.free"\nheight = 15\n#\n[flange.b]\non = "east.free"\nheight = 15\n'
    profile += '[[mitre]]\nflanges = [["north", "east"], ["a", "b"]]\ngap = 0.5\n'
    profile += '[[relief]]\nflange = ["north", "east"]\nkind = "drilled"\n'
    sharp = parts(profile)["P"][1]
    shaped = parts(profile.replace("#", "corner_round = 4"))["P"][1]
    lost = 16.0 * (1.0 - math.pi / 4.0) + 16.0 * (1.0 / math.tan(math.radians(67.5)) - math.pi / 8.0)
    assert lost == pytest.approx(sharp.area - shaped.area, abs=1e-6)
