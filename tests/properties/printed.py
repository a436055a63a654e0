"""The limits as the documents print them, typed a second time and apart from the rule files.

Each row: rule, what is read, how the text compares, its limit, and for whom. The rows were
typed from the documents' wording (49 CFR 393, 396 App. A, 570.57, 571.121; the commercial
driver's manual; the handbooks, codes and regulations of the places), not from the YAML:
where the two disagree, one of them is mistyped.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

SINCE_121 = date(1975, 3, 1)
SINCE_CUT_IN = date(1997, 3, 1)


@dataclass(frozen=True)
class Row:
    """`edges`: one (or two, low and high) limits, each in every unit printed; "half" is half of
    the governor's cut-out, "lesser" the lesser of the two edges."""

    rule: str
    reads: str
    how: str  # <= < >= > in about
    edges: tuple[str, ...]
    units: str = "any"  # 1, 2, 3, 4, 2+, 3+
    kinds: tuple[str, ...] = ()
    since: date | None = None
    before: date | None = None
    circuits: int = 0
    first_fall: str = "not counted"  # counted | either (the text does not say)
    least_s: int = 60
    gauge: str = ""  # the gauge that the text names
    one_way: bool = False
    window: tuple[str, str] = ("", "")
    meant: str = ""  # engine speed


def _losses(rule: str, single: str, more: Mapping[str, str], **also: object) -> tuple[Row, ...]:
    reads = "loss-applied" if "applied" in rule else "loss-released"
    how = str(also.pop("how", "<="))
    names: Mapping[str, str] = also.pop("names", {})  # type: ignore[assignment]
    rows = {"1": single, **more}
    return tuple(
        Row(f"{rule}-{names.get(n, n)}", reads, how, (limit,), n, **also)  # type: ignore[arg-type]
        for n, limit in rows.items()
    )


_TWO = {"1": "single", "2+": "combination"}
_THREE = {"1": "single", "2": "two", "3+": "three"}
_ONE_TO_FOUR = {"1": "single"}

FEDERAL = (
    Row("us-federal.build-up", "build-up", "<=", ("25 x ratio",), since=SINCE_121, one_way=True,
        window=("85 psi", "100 psi")),
    Row("us-federal.recovery-before-1975", "recovery", "<=", ("30 s",), before=SINCE_121),
    Row("us-federal.recovery", "recovery", "<=", ("45 s",), since=SINCE_121),
    Row("us-federal.cut-out", "cut-out", "<=", ("135 psi",)),
    Row("us-federal.cut-in", "cut-in", ">=", ("80 psi",)),
    Row("us-federal.cut-in-truck", "cut-in", ">=", ("100 psi",), kinds=("truck", "tractor"),
        since=SINCE_CUT_IN),
    Row("us-federal.cut-in-bus", "cut-in", ">=", ("85 psi",), kinds=("bus",), since=SINCE_CUT_IN),
    *_losses("us-federal.loss-released", "2 psi", {"2": "3 psi", "3": "4 psi", "4": "5 psi"},
             names=_ONE_TO_FOUR),
    *_losses("us-federal.loss-applied", "3 psi", {"2": "4 psi", "3": "5 psi", "4": "6 psi"},
             names=_ONE_TO_FOUR, first_fall="either"),
    Row("us-federal.warning-on", "warning-on", ">=", ("60 psi",), since=SINCE_121),
    Row("us-federal.warning-on-in-use", "warning-on", ">=", ("60 psi",), since=SINCE_121),
    Row("us-federal.warning-on-older", "warning-on", ">=", ("lesser", "379 kPa / 55 psi", "half"),
        before=SINCE_121),
    Row("us-federal.warning-on-older-in-use", "warning-on", ">=", ("50 psi",), before=SINCE_121),
    Row("us-federal.supply-valve-closes", "supply-valve-closes", "in", ("20 psi", "45 psi"), "2+"),
    Row("us-federal.line-break-holds", "line-break-holds", ">=", ("20 psi",), "2+"),
    Row("us-federal.reserve-remaining", "reserve left", ">=", ("70 %",)),
    Row("us-federal.reserve", "reserve", "<=", ("20 %",)),
    Row("us-federal.stroke-pressure", "stroke-pressure", "in", ("80 psi", "90 psi")),
)  # fmt: skip
MANUAL = (
    Row("us-licence-manual.build-up-dual", "build-up", "<=", ("45 s",), circuits=2,
        window=("85 psi", "100 psi"), meant="operating"),
    Row("us-licence-manual.build-up-single", "build-up", "<=", ("180 s",), circuits=1,
        window=("50 psi", "90 psi"), meant="idle"),
    *_losses("us-licence-manual.loss-released", "2 psi", {"2+": "3 psi"}, names=_TWO, how="<"),
    Row("us-licence-manual.loss-released-single-11", "loss-released", "<=", ("2 psi",), "1"),
    Row("us-licence-manual.loss-released-combination-11", "loss-released", "<=", ("3 psi",), "2+"),
    *_losses("us-licence-manual.loss-applied", "3 psi", {"2+": "4 psi"}, names=_TWO),
    Row("us-licence-manual.warning-on", "warning-on", ">=", ("60 psi",), gauge="lower"),
    Row("us-licence-manual.warning-off", "warning-off", ">", ("60 psi",)),
    Row("us-licence-manual.cut-out", "cut-out", "about", ("125 psi",)),
    Row("us-licence-manual.cut-in", "cut-in", "about", ("100 psi",)),
    Row("us-licence-manual.park-valve-closes", "park-valve-closes", "in", ("20 psi", "45 psi")),
    Row("us-licence-manual.supply-valve-closes", "supply-valve-closes", "in",
        ("20 psi", "45 psi"), "2+"),
    Row("us-licence-manual.ready-pressure", "ready-pressure", ">=", ("100 psi",), circuits=2),
)  # fmt: skip
TRADE = (Row("trade.governor-band", "governor-band", "about", ("20 psi", "25 psi")),)
US = (*FEDERAL, *MANUAL, *TRADE)

_CALIFORNIA = (
    Row("us-ca.cut-out", "cut-out", "<", ("130 psi",)),
    Row("us-ca.cut-in", "cut-in", ">=", ("85 psi",)),
    Row("us-ca.warning-on", "warning-on", "in", ("55 psi", "75 psi")),
    *_losses("us-ca.loss-released", "2 psi", {"2": "3 psi", "3+": "5 psi"}, names=_THREE),
    *_losses("us-ca.loss-applied", "3 psi", {"2": "4 psi", "3+": "6 psi"}, names=_THREE),
)
_BY_CALIFORNIA = ("cut-out", "cut-in", "warning-on", "loss-released", "loss-applied")

CANADA = (
    *TRADE,
    Row("trade-canada.ready-pressure", "ready-pressure", ">=", ("100 psi",)),
    Row("trade-canada.supply-valve-closes", "supply-valve-closes", "in", ("20 psi", "45 psi"),
        "2+"),
    Row("trade-canada.park-valve-closes", "park-valve-closes", "in", ("20 psi", "45 psi")),
    Row("trade-canada.line-break-holds", "line-break-holds", ">=", ("20 psi",), "2+"),
)  # fmt: skip
PROVINCE = (
    *CANADA,
    Row("ca-safety-code.stroke-pressure", "stroke-pressure", "in", ("90 psi", "100 psi")),
)
_FIFTY_TO_NINETY = ("50 psi / 345 kPa", "90 psi / 620 kPa")
_MOST_PROVINCES = Row("trade-provinces.build-up", "build-up", "<=", ("180 s",),
                      window=_FIFTY_TO_NINETY)  # fmt: skip

_AUSTRALIA = (
    *TRADE,
    Row("au-guidelines.warning-on", "warning-on", ">=", ("420 kPa / 60 psi",), one_way=True),
    Row("au-guidelines.warning-on-any", "warning-on", ">=", ("350 kPa / 50 psi",)),
    Row("au-guidelines.cut-out", "cut-out", "in", ("720 kPa / 100 psi", "1120 kPa / 160 psi")),
    Row("au-guidelines.reserve-five", "reserve-five left", ">=", ("50 %",)),
    Row("au-guidelines.cut-in", "cut-in", ">=", ("550 kPa / 80 psi",)),
    *_losses("au-guidelines.loss-applied", "20 kPa / 3 psi",
             {"2": "25 kPa", "3": "30 kPa", "4": "35 kPa"}, names=_ONE_TO_FOUR,
             first_fall="either"),
    *_losses("au-guidelines.loss-released", "15 kPa",
             {"2": "20 kPa", "3": "25 kPa", "4": "30 kPa"}, names=_ONE_TO_FOUR),
)  # fmt: skip

PRINTED: Mapping[str, tuple[Row, ...]] = {
    "AU": _AUSTRALIA,
    "AU-WA": (*_AUSTRALIA, Row("au-wa.left-after-five", "left-after-five", ">=", ("half",))),
    "US-OH": US,
    "US-CA": (
        *(r for r in US if not (r in MANUAL and r.reads in _BY_CALIFORNIA)),
        *_CALIFORNIA,
    ),
    "US-NC": (
        *US,
        Row("us-nc.cut-out", "cut-out", "in", ("120 psi", "140 psi")),
        *_losses("us-nc.loss-applied", "3 psi", {"2+": "4 psi"}, names=_TWO, first_fall="either"),
        Row("us-nc.warning-on", "warning-on", ">=", ("55 psi",)),
        Row("us-nc.supply-valve-closes", "supply-valve-closes", "about", ("40 psi",), "2+"),
        Row("us-nc.park-valve-closes", "park-valve-closes", "about", ("40 psi",)),
    ),
    "US-NV": (
        *US,
        Row("us-nv.build-up", "build-up", "<=", ("300 s",), window=("50 psi", "90 psi"),
            meant="fast idle"),
        Row("us-nv.warning-on", "warning-on", ">=", ("half",)),
        Row("us-nv.reserve", "reserve", "<=", ("30 %",)),
        *_losses("us-nv.loss-released", "2 psi", {"2": "3 psi", "3+": "5 psi"}, names=_THREE),
        *_losses("us-nv.loss-applied", "3 psi", {"2": "4 psi", "3+": "6 psi"}, names=_THREE,
                 first_fall="either"),
    ),
    "US-NH": (
        *US,
        Row("us-nh.cut-out", "cut-out", "<=", ("135 psi",)),
        Row("us-nh.cut-in", "cut-in", ">=", ("80 psi",)),
        Row("us-nh.recovery", "recovery", "<=", ("30 s",)),
        Row("us-nh.warning-on", "warning-on", ">=", ("half",)),
        *_losses("us-nh.loss-released", "2 psi", {"2+": "3 psi"}, names=_TWO),
        *_losses("us-nh.loss-applied", "3 psi", {"2+": "4 psi"}, names=_TWO, first_fall="either"),
    ),
    "US-GA": (
        *US,
        Row("us-ga.cut-out", "cut-out", "about", ("120 psi", "140 psi")),
        *_losses("us-ga.loss-applied", "3 psi", {"2+": "4 psi"}, names=_TWO),
        Row("us-ga.warning-on", "warning-on", ">=", ("55 psi",)),
    ),
    "US-TX": (*US, Row("us-tx.reserve", "reserve", "<=", ("20 %",))),
    "US-WI": (*US, Row("us-wi.supply-valve-closes", "supply-valve-closes", "in",
                       ("20 psi", "45 psi"), "2+")),
    "US-DC": (*US, Row("us-dc.supply-valve-closes", "supply-valve-closes", "in",
                       ("20 psi", "45 psi"), "2+")),
    "US-ME": (*US, Row("us-me.stroke-pressure", "stroke-pressure", "in", ("90 psi", "100 psi"))),
    "CA-ON": (
        *CANADA,
        Row("ca-on.build-up", "build-up", "<=", ("120 s",), meant="600-900",
            window=("85 psi / 587 kPa", "100 psi / 690 kPa")),
        Row("ca-on.loss-applied-single", "loss-applied", "<=", ("21 kPa / 3 psi",), "1"),
        Row("ca-on.loss-applied-combination", "loss-applied", "<=", ("28 kPa / 4 psi",), "2"),
        Row("ca-on.loss-applied-three", "loss-applied", "<=", ("6 psi",), "3+"),
        Row("ca-on.warning-on", "warning-on", ">=", ("380 kPa / 55 psi",)),
        Row("ca-on.cut-out", "cut-out", "<=", ("145 psi",)),
        Row("ca-on.cut-in", "cut-in", ">=", ("80 psi",)),
        Row("ca-on.stroke-pressure", "stroke-pressure", "in",
            ("621 kPa / 90 psi", "690 kPa / 100 psi")),
    ),
    "CA-QC": (
        *PROVINCE,
        _MOST_PROVINCES,
        Row("ca-qc.build-up", "build-up", "<", ("180 s",), window=("350 kPa", "620 kPa"),
            meant="-1200"),
        Row("ca-qc.cut-out", "cut-out", "in", ("805 kPa", "945 kPa")),
        Row("ca-qc.cut-in", "cut-in", ">", ("550 kPa",)),
        Row("ca-qc.warning-on", "warning-on", ">=", ("380 kPa",)),
        Row("ca-qc.loss-applied-single", "loss-applied", "<=", ("40 kPa",), "1",
            first_fall="either"),
        Row("ca-qc.loss-applied-two", "loss-applied", "<=", ("48 kPa",), "2",
            first_fall="either"),
        Row("ca-qc.loss-applied-three", "loss-applied", "<=", ("62 kPa",), "3",
            first_fall="either"),
        Row("ca-qc.line-break-holds", "line-break-holds", ">=", ("420 kPa",), "2+"),
        Row("ca-qc.line-break-holds-major", "line-break-holds", ">=", ("138 kPa",), "2+"),
    ),
    "CA-BC": (
        *PROVINCE,
        Row("ca-bc.build-up", "build-up", "<=", ("180 s",), window=_FIFTY_TO_NINETY),
        Row("ca-bc.cut-out", "cut-out", "in", ("105 psi / 724 kPa", "135 psi / 931 kPa")),
        Row("ca-bc.cut-in", "cut-in", ">=", ("80 psi / 552 kPa",)),
        Row("ca-bc.warning-on", "warning-on", ">=", ("60 psi / 414 kPa",)),
        Row("ca-bc.supply-valve-closes", "supply-valve-closes", "in",
            ("20 psi / 138 kPa", "45 psi / 310 kPa"), "2+", gauge="higher"),
        Row("ca-bc.ready-pressure", "ready-pressure", ">=", ("100 psi",)),
    ),
    "CA-AB": (
        *PROVINCE,
        Row("ca-ab.build-up", "build-up", "<=", ("180 s",), meant="1200",
            window=("50 psi / 345 kPa", "90 psi / 621 kPa")),
        Row("ca-ab.warning-on", "warning-on", ">=", ("60 psi / 414 kPa",)),
        Row("ca-ab.line-break-holds", "line-break-holds", ">=", ("40 psi / 276 kPa",), "2+",
            gauge="higher"),
        Row("ca-ab.park-valve-closes", "park-valve-closes", "in",
            ("20 psi / 138 kPa", "45 psi / 311 kPa")),
    ),
    "CA-SK": (
        *PROVINCE,
        _MOST_PROVINCES,
        Row("ca-sk.cut-out", "cut-out", "in", ("120 psi / 828 kPa", "145 psi / 1000 kPa")),
        Row("ca-sk.cut-in", "cut-in", ">=", ("100 psi / 690 kPa",)),
        Row("ca-sk.governor-band", "governor-band", "about", ("20 psi", "25 psi")),
        Row("ca-sk.loss-applied", "loss-applied", "<=", ("4 psi / 28 kPa",), "2+"),
        Row("ca-sk.line-break-holds", "line-break-holds", ">=", ("20 psi / 138 kPa",), "2+"),
    ),
    "CA-NL": (
        *PROVINCE,
        Row("ca-nl.build-up", "build-up", "<=", ("300 s",), window=("50 psi", "90 psi")),
        Row("ca-nl.cut-out", "cut-out", "in", ("105 psi", "125 psi")),
        Row("ca-nl.cut-in", "cut-in", ">=", ("80 psi",)),
        Row("ca-nl.warning-off", "warning-off", "about", ("60 psi",)),
        Row("ca-nl.warning-on", "warning-on", "about", ("60 psi",)),
        Row("ca-nl.loss-applied", "loss-applied", "<", ("4 psi",), first_fall="either"),
        Row("ca-nl.line-break-holds", "line-break-holds", ">=", ("20 psi",), "2+"),
        Row("ca-nl.park-valve-closes", "park-valve-closes", "in", ("20 psi", "45 psi")),
    ),
    "CA-MB": (
        *PROVINCE,
        _MOST_PROVINCES,
        Row("ca-mb.cut-out", "cut-out", "in", ("120 psi", "145 psi")),
        Row("ca-mb.cut-in", "cut-in", ">=", ("100 psi",)),
    ),
    "CA-NB": (
        *PROVINCE,
        _MOST_PROVINCES,
        Row("ca-nb.build-up", "build-up", "<=", ("180 s",), window=("50 psi", "90 psi")),
        Row("ca-nb.cut-out", "cut-out", "in", ("115 psi", "135 psi")),
        Row("ca-nb.cut-in", "cut-in", ">=", ("80 psi",)),
        Row("ca-nb.warning-on", "warning-on", ">=", ("55 psi",)),
        Row("ca-nb.loss-applied", "loss-applied", "<=", ("3 psi",), "1", first_fall="either",
            least_s=120),
    ),
    "CA-NU": (
        *PROVINCE,
        Row("trade-nunavut.build-up", "build-up", "<=", ("300 s",), window=_FIFTY_TO_NINETY),
    ),
}  # fmt: skip
