"""The first page: the answer, the night, what would help and what it needs, what to know."""

from __future__ import annotations

import math

from vansim import phrases
from vansim.phrases.accounts import account
from vansim.phrases.answers import NightFacts, answer, recharged, runtime_from
from vansim.phrases.seasons import SeasonFacts, season_answer
from vansim.phrases.vocabulary import more_of
from vansim.show.report.findings import ChangeFound, Findings
from vansim.show.report.sections import Block, Points, Row, Section, Table, Words

SHOWN_CHANGES = 3
LEAST_GAIN_KWH = 0.01
STAY = (
    "Never leave a child, an animal or anyone who cannot get out unaided in the van because the cooling runs: it can "
    "stop at any moment."
)


def page_one(found: Findings, picture: Block | None, system: str) -> tuple[Section, ...]:
    """The sections of the first page.

    Parameters
    ----------
    found : Findings
        What may be said.
    picture : Block or None
        Of the night.
    system : {"si", "us"}
        Units shown.
    """
    said: list[Block] = [Words(caution(found), "caution")] if found.unattended else []
    said.append(Words(three_sentences(found, system), "lead"))
    if picture is not None:
        said.append(picture)
    return (
        Section("answer", "The answer", tuple(said)),
        Section("help", "What would help most", help_blocks(found, system)),
        Section("know", "What to know", (Points(things_to_know(found, system)),)),
    )


def caution(found: Findings) -> str:
    """Said above everything where nobody who can act is on board at some time."""
    u = found.unattended
    assert u is not None
    return phrases.unattended(
        u.code,
        u.spans,
        dogs=u.dogs,
        people=u.people,
        cooled=u.cooled,
        no_person=u.no_person,
        how_empty=u.how_empty,
        empty_at=u.empty_at,
    )


def three_sentences(found: Findings, system: str) -> str:
    """The night, the season in the worse of both readings, and why."""
    night = answer(
        status=status(found),
        nights=1,
        nights_covered=int(found.night.covered),
        limit_c=found.occasion.limit_c,
        grace_min=found.occasion.grace_min,
        telling=_facts(found),
        noun=found.occasion.label,
        system=system,
    )
    return f"On {phrases.date(found.night.date)} {night[:1].lower()}{night[1:]} {season_answer(season_facts(found))}"


def status(found: Findings) -> str:
    """What became of the night that is shown, as `Result.status`."""
    if found.night.covered:
        return "covered"
    return "too_warm" if found.night.empty_at is None else "bank_empty"


def _facts(found: Findings) -> NightFacts:
    n, o = found.night, found.occasion
    return NightFacts(
        date=n.date,
        bedtime=n.bedtime_at,
        waking=n.waking_at,
        waking_soc=n.waking_soc,
        cabin_max_c=n.cabin_max_c,
        over_limit_h=n.over_limit_h,
        bedtime_cabin_c=n.bedtime_cabin_c,
        empty_at=n.empty_at,
        cabin_at_empty_c=n.cabin_at_empty_c,
        people=o.people,
        dogs=o.dogs,
        why=n.why,
    )


def season_facts(found: Findings) -> SeasonFacts:
    """What the headline of a season is made from."""
    s, o = found.season, found.occasion
    return SeasonFacts(
        reason=s.reason,
        nights=s.nights,
        independent=s.independent,
        consecutive=s.consecutive,
        target=o.target,
        needed=s.needed,
        start_soc=o.start_soc,
        start_kind=o.account_kind,
        lacks=s.lacks,
        planned=s.planned,
        missing=tuple((way.way, way.amount) for way in s.missing),
        in_a_row_worst=s.in_a_row_worst,
        in_a_row_median=s.in_a_row_median,
        in_a_row_most=s.in_a_row_most,
        noun=o.label,
    )


# --- what would help --------------------------------------------------------------------------------------------------


def help_blocks(found: Findings, system: str) -> tuple[Block, ...]:
    """The best changes with what each needs, and the charging that is missing."""
    if found.help is None:
        return (Words("Nothing is cooled in this plan: fit a cooler and plan its hours first."),)
    best = found.help.best
    if best is None:
        lead = "No single change that was tried gains anything on this van and plan."
    else:
        lead = f"Most is gained by: {called(best, system)}. It means {gain(best, found)}."
    rows: list[Row] = [
        (called(change, system), gain(change, found), needs(change, found, system)) for change in worth_telling(found)
    ]
    pair = found.help.pair
    if pair is not None and gains(pair):
        rows.append((f"Both: {called(pair, system)}", gain(pair, found), "what each needs"))
    rows = [*bank_rows(found, system), *rows, *charging_rows(found)]
    table = Table(f"{_change_caption(found)}", ("Change", "What it gains", "What it needs"), tuple(rows), (4, 4, 5))
    return (Words(lead), table) if rows else (Words(lead),)


def _change_caption(found: Findings) -> str:
    assert found.help is not None
    nights = phrases.plural(found.occasion.label)
    return (
        f"Ranked by {nights} covered, then by charge left {phrases.at_end(found.occasion.label)} on "
        f"{phrases.date(found.help.design_date)}, the {found.occasion.label} that decides"
    )


def worth_telling(found: Findings) -> list[ChangeFound]:
    """The first changes that gain something and lose no night."""
    assert found.help is not None
    return [change for change in found.help.changes if gains(change)][:SHOWN_CHANGES]


def gains(change: ChangeFound) -> bool:
    """Whether a change covers more nights or leaves more charge, and loses no night."""
    return not change.loses_nights and (change.gained_nights > 0 or change.gained_kwh >= LEAST_GAIN_KWH)


def called(change: ChangeFound, system: str) -> str:
    """A change, or two, as said."""
    named = zip(codes_of(change), change.values, strict=True)
    return phrases.listed([phrases.change(code, values, system) for code, values in named])


def gain(change: ChangeFound, found: Findings) -> str:
    """What a change gains: nights where it covers more of them, else charge, with the battery that would do as much."""
    o = found.occasion
    if change.gained_nights:
        more = phrases.count(abs(change.gained_nights), o.label)
        direction = "more" if change.gained_nights > 0 else "fewer"
        told = f"{more} {direction} covered ({change.covered} of {found.season.nights})"
    elif abs(change.gained_kwh) < LEAST_GAIN_KWH:
        return "nothing"
    else:
        kwh = phrases.energy(1000.0 * abs(change.gained_kwh))
        told = f"{kwh} {'more' if change.gained_kwh > 0 else 'less'} left {phrases.at_end(o.label)}"
    return f"{told}{_batteries(change, found)}"


def _batteries(change: ChangeFound, found: Findings) -> str:
    assert found.help is not None
    most = found.help.most_batteries
    if math.isinf(change.same_by_batteries):
        return f"; even {phrases.count(most, 'battery')} more would do less"
    alike = phrases.batteries(change.same_by_batteries, most)
    if alike == phrases.NOTHING or codes_of(change) == ("one-more-battery",):
        return ""
    return f", as much as {alike}"


def codes_of(change: ChangeFound) -> tuple[str, ...]:
    """Codes as the words know them."""
    return tuple(code.replace("_", "-") for code in change.codes)


def bank_rows(found: Findings, system: str) -> list[Row]:
    """The bank that covers the asked share, where it is larger than the one fitted."""
    bank, fitted = found.bank, found.van.units
    if bank is None or bank.least is None or bank.least.units <= fitted:
        return []
    least = phrases.count(bank.least.units, "battery")
    covered = f"{phrases.percent(bank.least.covered_share)} of {phrases.plural(found.occasion.label)} covered"
    weight = "" if bank.mass_kg is None else f", {phrases.mass(bank.mass_kg, system)} in all"
    weight += "" if bank.price is None else f", {phrases.money(bank.price, found.occasion.currency)} in all"
    return [(f"{least} like those fitted, instead of {fitted}", covered, f"{NEEDS['one-more-battery']}{weight}")]


def charging_rows(found: Findings) -> list[Row]:
    """More charging that would make consecutive nights reach the target."""
    many = phrases.plural(found.occasion.label)
    rows: list[Row] = []
    for way in found.season.missing:
        if way.amount is not None:
            asked = more_of(way.way, way.amount, way.way in found.season.planned)
            covered = f"{phrases.percent(way.share)} of consecutive {many} covered"
            rows.append((asked, covered, CHARGING_NEEDS[way.way]))
    return rows


CHARGING_NEEDS = {
    "road": "the time, and fuel",
    "idling": "an open place where idling is allowed; a carbon monoxide alarm",
    "shore": "a pitch with a socket",
    "solar": "room on the roof, cable and a controller to match",
}


def needs(change: ChangeFound, found: Findings, system: str) -> str:
    """What a change needs."""
    said = [NEEDS[code] for code in codes_of(change)]
    if change.added_mass_kg > 0.5:
        said.append(f"{phrases.mass(change.added_mass_kg, system)} more to carry")
    if change.added_price is not None and change.added_price >= 0.5:
        said.append(phrases.money(change.added_price, found.occasion.currency))
    return "; ".join(said)


_LINING = "the lining off, and the thickness inside"
NEEDS = {
    "shade-by-day": "a shaded pitch, or an awning or tarpaulin over the van",
    "shade-throughout": "a roof or trees over the pitch, day and night",
    "covers-when-parked": "nothing to buy: put the covers up whenever it stands",
    "covers-outside": "insulated covers to hang outside every window",
    "white-paint": "a respray or a wrap",
    "insulation-roof": _LINING,
    "insulation-walls": _LINING,
    "insulation-floor": "boards on or under the floor",
    "strips-over-ribs": "the lining off, and foam between it and the ribs",
    "half-leakage": "gaps found and sealed; vents for gas and breathing stay open",
    "cab-partition": "a padded curtain or wall behind the seats",
    "warmer-setpoint": "nothing to buy: a warmer cabin",
    "eco-throughout": "nothing to buy: eco instead of boost; it cools down more slowly",
    "boost-then-eco": "nothing to buy: boost until cool, then eco",
    "boost-throughout": "nothing to buy: boost all the time",
    "roof-fan-first": "a roof fan, and a window open a little while it runs",
    "precooling": "nothing to buy: cool while driving or plugged in",
    "wider-band": "a thermostat that can be set so; the cabin swings more",
    "half-loads": "leaner appliances, or doing without",
    "more-solar": CHARGING_NEEDS["solar"],
    "more-driving": CHARGING_NEEDS["road"],
    "larger-alternator": "the part, with cable, fuse and belt to match",
    "smaller-cooler": "the part, fitted in its place",
    "larger-cooler": "the part, with cable and fuse to match",
    "one-more-battery": "room, cable and fuse to match",
}
"""What each of `vansim.studies.changes` needs."""


# --- what to know -----------------------------------------------------------------------------------------------------


def things_to_know(found: Findings, system: str) -> tuple[str, ...]:
    """From when the figures count, how long the bank runs, how it is filled again, what the weather leaves out."""
    o, n = found.occasion, found.night
    counted = account(
        o.account_kind, o.account_clocks, o.start_soc, o.waking, o.label, full_at_bedtime=o.full_at_bedtime
    )
    said = [
        f"Every {o.label} is counted {counted}. It is covered when the bank stays above its reserve of "
        f"{phrases.percent(found.van.reserve_soc)} all that time, and the cabin at or below "
        f"{phrases.temperature(o.limit_c, system, None)} {_from_bedtime(o.label)}."
    ]
    if found.help is not None:
        emptied = phrases.time_of_day(n.empty_at) if n.empty_at is not None and n.empty_at < n.bedtime_at else ""
        ran = runtime_from(
            n.runtime_h, n.outlasts, n.bedtime_soc, emptied_before=emptied, noun=o.label, bedtime=o.bedtime
        )
        said.append(f"Runtime: {ran}.")
    again = recharged(found.recharge.goal_soc, dict(found.recharge.hours), system=system)
    said.append(f"After the {o.label} of {phrases.date(n.date)}: {again[:1].lower()}{again[1:]}.")
    said.append("The weather is a typical year: real summers have hotter nights than the worst one here.")
    said.append(STAY)
    return tuple(said)


def _from_bedtime(noun: str) -> str:
    return "from bedtime to waking" if noun == "night" else f"throughout the {noun}"
