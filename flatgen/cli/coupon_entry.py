"""A coupon by questions at the terminal."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from flatgen.errors import InputError
from flatgen.jobs.coupon_entry import FIELDS, Field, coupon_of, planned, read_value
from flatgen.jobs.shop_place import Place

if TYPE_CHECKING:
    from flatgen.records.coupons import Coupon


def ask_coupon(given: Mapping[str, str | None], place: Place) -> "Coupon":
    """A coupon by questions, one a field; an answer that cannot be read is asked again."""
    import click

    texts = dict(given)
    known: dict[str, Any] = {}
    for field in FIELDS:
        if (texts.get(field.key) or "").strip() or field.key in known:
            continue

        def check(text: str, field: Field = field) -> str:
            if not text.strip() and not field.needed:
                return ""
            try:
                read_value(field, text, place)
            except InputError as error:
                raise click.BadParameter(str(error.message)) from error
            return text

        shown = f"{field.ask} [{place.units}]" if field.kind == "length" else field.ask
        shown = shown if field.needed else f"{shown}, or nothing"
        default = None if field.needed else ""
        texts[field.key] = click.prompt(shown, value_proc=check, default=default, show_default=False)
        if field.key == "mark":
            known = planned(place, texts["mark"] or "")
    return coupon_of(texts, place)
