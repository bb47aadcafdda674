"""Stop distances worked by hand from first principles, against the formulas and against the gauge of a laid-out blank.

All by one picture (side view, origin at the bed's front edge, x to the operator): the clamped bend tangent line lies
straight under the centre of the nose arc, R behind the nose tip, and the tip s behind the bed's edge. So the stop is
(flat from its contact to the tangent line) + R + s behind the edge. No source: geometry.
"""

import math

import pytest
from hand_blanks import INCH, brake, gt201, setback, sk301, tf101, tf102

from flatgen.brake import stop
from flatgen.brake.gauge import gauge
from flatgen.brake.section import Body, lay
from flatgen.brake.tools import setting_for
from flatgen.develop.strokes import bend_groups


def stops(strip, which, made=(), hub=True, **changes):
    """Gauge one bend of a strip by its number, some bends already made, on a plain brake."""
    blank, bar = strip.blank(), brake(**changes)
    fold = next(f for f in bend_groups(blank) if f.lead.id == f"b{which}")
    body = Body(blank, {f"b{k}" for k in made})
    laid = lay(body, fold, hub)
    return gauge(body, laid, setting_for(bar, bar.noses[0], fold.lead, strip.thickness))


def test_angle_square_and_without_spring_back() -> None:
    """TF-101, legs 1.000 and .750 in: setback SB = R + T = .19625, flat of the leg 1.000 - .19625 = .80375.

    Stop: .80375 + R + s = .80375 + .15625 + .040 = 1.000 from the bed, .960 from the tip (inside size). Front stop:
    flat .55375 + allowance .27320 - (R + s) .19625 = .63070 = .750 less one deduction (.3925 - .2732 = .1193).
    """
    found = stops(tf101(), 0)
    assert 1.000 * INCH == pytest.approx(found.bed, abs=1e-9)
    assert 0.960 * INCH == pytest.approx(found.nose, abs=1e-9)
    assert 0.6307 * INCH == pytest.approx(found.front, abs=0.00005 * INCH)
    assert (0.80375 * INCH, 0.55375 * INCH) == pytest.approx((found.behind, found.ahead), abs=1e-9)


def test_angle_over_bent_and_released() -> None:
    """TF-101 with the leaf at 94.415 deg: s = (R + T)·tan 47.2075 - R = .19625·1.08028 - .15625 = .05575.

    The middle of the sheet keeps its length: R' = .17625·94.415/90 - .020 = .16490. The leg then measures
    F + R' + T, so F = 1 - .20490 = .79510 and the stop is .79510 + .15625 + .05575 = 1.00710 (tip: .95135).
    """
    found = stops(tf101(overbend=94.415 / 90), 0)
    assert 1.00710 * INCH == pytest.approx(found.bed, abs=0.00002 * INCH)
    assert 0.95135 * INCH == pytest.approx(found.nose, abs=0.00002 * INCH)


def test_open_angle() -> None:
    """A 45 deg bend, R 3, T 1, leg 20: SB = 4·tan 22.5 = 1.65685; s = 4·tan 22.5 - 3 = -1.34315 (tip in front).

    Stop from the tip: 20 - 1.65685 + 3 = 21.34315; from the bed's edge: 20.00000. In general D_bed = M - SB + SB.
    """
    found = stops(tf101(sizes=(20, 15), bends=(45,), radius=3.0, thickness=1.0), 0)
    assert 21.34315 == pytest.approx(found.nose, abs=1e-5)
    assert 20.0 == pytest.approx(found.bed, abs=1e-9)


def test_channel_second_bend_rests_on_the_first_flange() -> None:
    """TF-102: bend 1 from the cut edge at .750. Bend 2 with flange 1 standing at the stop: its outer face is
    R + T = .157 behind the far tangent line of the web, web flat 2.000 - 2·.157 = 1.686, so the reach to the clamped
    tangent line is 1.843, and the stop 1.843 + .125 + .032 = 2.000: the web's outside size, whatever the allowance."""
    assert 0.75 * INCH == pytest.approx(stops(tf102(), 0).bed, abs=1e-9)
    second = stops(tf102(), 1, made=[0])
    assert ("face", "f0") == (second.rest.kind, second.rest.face)
    assert 1.843 * INCH == pytest.approx(second.rest.reach, abs=1e-9)
    assert 2.0 * INCH == pytest.approx(second.bed, abs=1e-9)


def test_a_lip_that_hangs_over_behind_is_no_rest() -> None:
    """A web of 27 between a lipped flange and the bend: the stop bears on the flange, under the lip.

    The flange is 14 high with R 1.5, T 1.6: straight up to 14 - 3.1 = 10.9, then it bends back into the lip. A pad of
    15 or 12 would meet lip or bend; the next lower one, 9, bears on the flange, 27 - SB 3.1 = 23.9 behind the tangent
    line and 27 behind the bed's edge.
    """
    found = stops(tf101(sizes=(14, 14, 27, 32), bends=(90, -90, -90), radius=1.5, thickness=1.6), 2, made=(0, 1))
    assert found.rest is not None
    assert ("face", "f1", 9.0) == (found.rest.kind, found.rest.face, found.rest.pad)
    assert 23.9 == pytest.approx(found.rest.reach, abs=1e-9)
    assert 27.0 == pytest.approx(found.bed, abs=1e-9)


@pytest.mark.parametrize("hanging", [14, 60])
def test_a_flange_that_hangs_below_the_bed_is_no_rest(hanging) -> None:
    """Behind the web of 22 a flange slopes down at 45 deg: nothing of it stands square above the bed."""
    strip = tf101(sizes=(14, 22, hanging), bends=(90, -45), radius=1.5, thickness=1.6)
    assert stops(strip, 0, made=(1,), hub=False).rest is None


def test_zed_both_from_cut_edges() -> None:
    """GT-201: both flanges .875 from their cut edges; second bend with the other side up and the free flange clamped.

    Flat .875 - .188 = .687; .687 + R .125 + s .063 = .875.
    """
    assert 0.875 * INCH == pytest.approx(stops(gt201(), 0).bed, abs=1e-9)
    assert 0.875 * INCH == pytest.approx(stops(gt201(), 1, made=[0], hub=False).bed, abs=1e-9)


def test_hat_last_wall_rests_on_the_other_wall() -> None:
    """SK-301, brims and one wall made, top clamped: the standing wall's outer face is one top size, 1.250, behind.

    Top flat 1.250 - 2·.175 = .900; wall's outer face R + T = .175 beyond: reach 1.075; + R .125 + s .050 = 1.250.
    """
    found = stops(sk301(), 2, made=[0, 1, 3])
    assert ("face", "f1") == (found.rest.kind, found.rest.face)
    assert 1.25 * INCH == pytest.approx(found.bed, abs=1e-9)


def test_hat_brim_from_its_edge() -> None:
    """Brim .675 outside: flat .500; .500 + .125 + .050 = .675."""
    assert 0.675 * INCH == pytest.approx(stops(sk301(), 0).bed, abs=1e-9)


@pytest.mark.parametrize(("forward", "up"), [(0.0, 0.0), (0.8, 0.0), (0.0, 0.5), (-0.4, 0.7)])
@pytest.mark.parametrize("leaf", [30.0, 90.0, 97.5, 118.0])
def test_flush_set_back_measured_on_the_drawing(forward, up, leaf) -> None:
    """With the set-back of the rule the leaf's face is R + T from the arc's centre: drawn with points, not the formula.

    The face is turned point by point about the hinge; its distance from C is taken by the cross product.
    """
    r, t = 3.2, 1.3
    s = stop.flush_setback(leaf, r, t, forward, up)
    a = math.radians(leaf)

    def turned(x: float, z: float) -> tuple[float, float]:
        dx, dz = x - forward, z - up
        return forward + dx * math.cos(a) - dz * math.sin(a), up + dx * math.sin(a) + dz * math.cos(a)

    (x0, z0), (x1, z1) = turned(0.0, 0.0), turned(10.0, 0.0)
    cx, cz = -(s + r), t + r
    off = ((x1 - x0) * (cz - z0) - (z1 - z0) * (cx - x0)) / 10.0
    assert r + t == pytest.approx(off, abs=1e-9)
    assert 0.0 == pytest.approx(stop.squeeze(s, leaf, r, t, forward, up), abs=1e-9)


def test_one_thickness_squeezes_when_over_bent() -> None:
    """R .125, T .063, s = T: at 94 deg (R + T)·(1 - sin - cos) = .188·(1 - .99756 + .06976) = .0136 in."""
    assert 0.0136 == pytest.approx(stop.squeeze(0.063, 94, 0.125, 0.063), abs=0.00005)
    assert 0.0 == pytest.approx(stop.squeeze(0.063, 90, 0.125, 0.063), abs=1e-12)


def test_back_stop_is_blind_to_allowance_and_nose_radius() -> None:
    """At 90 deg, s = T, no spring-back: the outside size itself for any radius."""
    for radius in (1.0, 3.175, 9.5):
        assert 30.0 == pytest.approx(stop.back_stop_from_bed(30 - radius - 1.2, radius, 1.2), abs=1e-12)


def test_wrap_counts_in_radius_and_in_set_back() -> None:
    """Two wraps of .5 on a bare nose of 2: radius 3 over them; set-back .9 over them leaves the bare tip 1.9 back."""
    assert (2.0, 1.9) == pytest.approx(stop.with_wrap(3.0, 0.9, (0.5, 0.5)))


def test_wraps_of_the_shop_make_up_the_radius() -> None:
    """R 4.0 on a nose of 3.175 with wraps .4, .4 and .8 at hand: the .8 alone (3.975) is nearest with fewest wraps."""
    bar = brake(nose_shoes=(0.4, 0.8, 0.4))
    fold = bend_groups(tf101(radius=3.975).blank())[0]
    setting = setting_for(bar, bar.noses[0], fold.lead, 1.0)
    assert (0.8,) == setting.wraps
    assert setting.setback + 0.8 == pytest.approx(setting.bare_setback)


def test_tapered_edge_gives_no_stop() -> None:
    """An edge 2 mm out of parallel over the part has nothing for a stop to rest on (front or back)."""
    import dataclasses

    strip = tf101()
    blank = strip.blank()
    last = blank.faces[1]
    corners = list(last.outline)
    corners[2] = (corners[2][0], corners[2][1] - 2.0, 0.0)
    tapered = dataclasses.replace(blank, faces=(blank.faces[0], dataclasses.replace(last, outline=tuple(corners))))
    fold, bar = bend_groups(tapered)[0], brake()
    body = Body(tapered, ())
    setting = setting_for(bar, bar.noses[0], fold.lead, strip.thickness)
    assert gauge(body, lay(body, fold, True), setting).front is None
    assert gauge(body, lay(body, fold, False), setting).bed is None
    assert gauge(body, lay(body, fold, True), setting).bed is not None


def test_setback_of_the_hand_layout_is_the_books() -> None:
    """The layout these tests stand on: setback at 90 deg is R + T."""
    assert 4.0 == pytest.approx(setback(90, 3, 1))
