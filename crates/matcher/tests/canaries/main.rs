//! Each check can ring: a tiny book on which it does, and the same book with one thing changed on which it
//! does not.
//!
//! What is expected is written by hand from the rules; the crate and the oracle must both say it. The
//! notation is that of `oracle/notation.rs`; where nothing else is said, an order is open, a submission is
//! `received` for an hour, and a quantity is one.

mod named;
mod not_known_yet;
#[path = "../oracle/mod.rs"]
mod oracle;

use model::Check;
use oracle::{compared, notation};

struct Canary {
    rule: &'static str,
    rows: &'static str,
    finds: &'static [&'static str],
    /// What is replaced by what.
    change: (&'static str, &'static str),
    then_finds: &'static [&'static str],
}

#[rustfmt::skip]
const CANARIES: &[Canary] = &[
    // part-sent
    Canary {
        rule: "some lines are at the supplier and one is linked to nothing: named at once",
        rows: "order A paid=-1m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1
               submission alder/S1 ref=A at=+0m cutoff=+60m
               sent alder/S1/1 line=1 variant=V1",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
        change: ("line A/2 sku=K9", "line A/2 sku=K9 cancelled=1"),
        then_finds: &[],
    },
    Canary {
        rule: "within the grace, with nothing tied yet, a line without a link beside a linked one is part-sent",
        rows: "order A paid=-60m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1
               given submissions
               given submission-lines",
        finds: &["part-sent order=A lines=2:1:no-link"],
        change: ("paid=-60m", "paid=-61m"),
        then_finds: &["unsent-order order=A lines=1:1:not-sent,2:1:no-link"],
    },
    Canary {
        rule: "a linked line that is not sent is named once more than the grace has passed",
        rows: "order A paid=-3601s
               line A/1 sku=K1
               line A/2 sku=K2
               variant alder/V1 sku=K1
               variant brook/V2 sku=K2
               submission alder/S1 ref=A cutoff=+60m
               sent alder/S1/1 variant=V1",
        finds: &["part-sent order=A lines=2:1:not-sent"],
        change: ("paid=-3601s", "paid=-3600s"),
        then_finds: &[],
    },
    Canary {
        rule: "the grace of a payment that is a day runs from the day's end",
        rows: "order A placed=2026-11-24 paid=2026-11-24
               line A/1 sku=K1
               line A/2 sku=K1 quantity=2
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1",
        finds: &["part-sent order=A lines=2:2:not-sent"],
        change: ("paid=2026-11-24", "paid=2026-11-25"),
        then_finds: &[],
    },
    Canary {
        rule: "the grace runs from placing where the payment is not known",
        rows: "order A placed=-61m
               line A/1 sku=K1 quantity=3
               variant alder/V1 sku=K1
               submission alder/S1 ref=A status=making cutoff=+60m
               sent alder/S1/1 variant=V1 quantity=2",
        finds: &["part-sent order=A lines=1:1:short passed"],
        change: ("placed=-61m", "placed=-60m"),
        then_finds: &[],
    },
    Canary {
        rule: "a supplier's own grace counts, a line's is the longest of its parts'",
        rows: "graces of=alder submit=+30m
               graces of=brook submit=+45m
               order A paid=-46m
               line A/1 sku=K1
               line A/2 sku=K2
               variant alder/V1 sku=K1
               variant brook/V2 sku=K9
               link sku=K2 to=alder/V1
               link sku=K2 to=brook/V2
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1",
        finds: &["part-sent order=A lines=2:1:not-sent"],
        change: ("paid=-46m", "paid=-45m"),
        then_finds: &[],
    },
    Canary {
        rule: "a SKU that two variants bear is no link, and says so",
        rows: "order A paid=-1m
               line A/1 sku=K1
               line A/2 sku=k2
               variant alder/V1 sku=K1
               variant alder/V2 sku=K2
               variant brook/V3 sku=K2
               given submissions
               given submission-lines",
        finds: &["part-sent order=A lines=2:1:ambiguous-link"],
        change: ("brook/V3 sku=K2", "brook/V3 sku=K3"),
        then_finds: &[],
    },
    Canary {
        rule: "a link with one part that the variants table does not have is no link, whatever the SKU would say",
        rows: "order A paid=-1m
               line A/1 sku=K1
               line A/2 sku=K2
               variant alder/V1 sku=K1
               variant alder/V2 sku=K2
               link sku=K2 to=alder/V2
               link sku=K2 to=brook/V9
               given submissions
               given submission-lines",
        finds: &["part-sent order=A lines=2:1:broken-link"],
        change: ("to=brook/V9", "to=own"),
        then_finds: &[],
    },
    Canary {
        rule: "a link that is only intended is named like none, though it is matched",
        rows: "order A paid=-1m
               line A/1 sku=K9 quantity=2
               variant alder/V1
               link sku=K9 to=alder/V1 intended
               submission alder/S1 ref=A at=+0m
               sent alder/S1/1 variant=V1",
        finds: &["part-sent order=A lines=1:1:no-link"],
        change: (" intended", ""),
        then_finds: &[],
    },
    Canary {
        rule: "an intended link that is what the SKU leads to anyway is in force",
        rows: "order A paid=-1m
               line A/1 listing=L1 options=Size:S sku=K1
               line A/2 sku=K1
               variant alder/V1 sku=K1
               link listing=L1 options=size:s to=alder/V1 units=2 intended
               given submissions
               given submission-lines",
        finds: &["part-sent order=A lines=1:1:no-link"],
        change: (" units=2", ""),
        then_finds: &[],
    },
    Canary {
        rule: "a set is as far sent as its least part, in units of the line, rounded up",
        rows: "order A paid=-90m
               line A/1 sku=K1 quantity=3
               variant alder/V1
               variant alder/V2
               link sku=K1 to=alder/V1 units=2
               link sku=K1 to=alder/V2
               submission alder/S1 ref=A
               sent alder/S1/1 variant=V1 quantity=3
               sent alder/S1/2 variant=V2 quantity=3",
        finds: &["part-sent order=A lines=1:2:short"],
        change: ("variant=V1 quantity=3", "variant=V1 quantity=6"),
        then_finds: &[],
    },
    Canary {
        rule: "the earliest cut-off still ahead counts; at as-of itself it is still ahead",
        rows: "order A paid=-90m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1
               submission alder/S1 ref=A cutoff=-1m
               sent alder/S1/1 line=1 variant=V1
               submission brook/S2 ref=A cutoff=+60m status=making
               sent brook/S2/1 status=received
               submission brook/S3 ref=A cutoff=+0m
               sent brook/S3/1",
        finds: &["part-sent order=A lines=2:1:no-link act=+0m"],
        change: ("cutoff=+0m", "cutoff=-1s"),
        then_finds: &["part-sent order=A lines=2:1:no-link passed"],
    },
    Canary {
        rule: "an order that is not judged, and one merged with it, say nothing and are not counted",
        rows: "not-judged B
               order A paid=-1m
               line A/1 sku=K1
               line A/2 sku=K9
               order B
               line B/1 sku=K9
               variant alder/V1 sku=K1
               submission alder/S1 ref=A at=+0m
               sent alder/S1/1 line=1 variant=V1",
        finds: &["part-sent order=A lines=2:1:no-link"],
        change: ("ref=A ", "ref=A;B "),
        then_finds: &[],
    },
    Canary {
        rule: "an order placed before `report_from` raises nothing",
        rows: "report_from -120m
               order A placed=-120m
               line A/1 sku=K9
               given variants",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("placed=-120m", "placed=-121m"),
        then_finds: &[],
    },
    // unsent-order
    Canary {
        rule: "nobody has anything of a linked order, after the grace",
        rows: "order A paid=-61m
               line A/1 sku=K1 quantity=3 cancelled=1
               variant alder/V1 sku=K1
               given submissions
               given submission-lines",
        finds: &["unsent-order order=A lines=1:2:not-sent"],
        change: ("paid=-61m", "paid=+1m placed=-61m"),
        then_finds: &[],
    },
    Canary {
        rule: "an order of which no line is linked is unsent at once; own stock is left out",
        rows: "order A paid=-1m
               line A/1 sku=K9
               line A/2 sku=K2
               given variants
               link sku=K2 to=own
               given submissions
               given submission-lines",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("link sku=K2", "link sku=K9"),
        then_finds: &["unsent-order order=A lines=2:1:no-link"],
    },
    Canary {
        rule: "an unpaid order owes nothing",
        rows: "order A
               line A/1 sku=K9
               given variants",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("order A", "order A status=unpaid"),
        then_finds: &[],
    },
    Canary {
        rule: "without a variants table a SKU that nobody was seen to make is named after the grace",
        rows: "order A paid=-61m
               line A/1 sku=K9
               submission alder/S1
               sent alder/S1/1 variant=V1 sku=K1 status=cancelled",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("paid=-61m", "paid=-60m"),
        then_finds: &[],
    },
    Canary {
        rule: "without submissions only lines without a link are named",
        rows: "order A paid=-3000m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1",
        finds: &["part-sent order=A lines=2:1:no-link"],
        change: ("sku=K9", "sku=K1"),
        then_finds: &[],
    },
    // wrong-variant
    Canary {
        rule: "a submission line that names a linked line and makes something else is wrong",
        rows: "order A paid=-61m
               line A/1 sku=K1 quantity=2
               variant alder/V1 sku=K1
               variant alder/V2 sku=K2
               submission alder/S1 ref=A cutoff=+60m
               sent alder/S1/1 line=1 variant=V2 quantity=2",
        finds: &["wrong-variant order=A lines=1:2 act=+60m"],
        change: ("variant=V2", "variant=V1"),
        then_finds: &[],
    },
    Canary {
        rule: "what is read of the variant contradicts what is read of the line without a link",
        rows: "order A paid=-61m
               line A/1 sku=K9 reads=apron,S
               variant alder/V2 sku=K2 reads=apron,M
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 sku=K2",
        finds: &["wrong-variant order=A lines=1:1"],
        change: ("reads=apron,M", "reads=apron,-,moss"),
        then_finds: &[],
    },
    // over-sent
    Canary {
        rule: "an order submitted twice is over-sent once, by the later submission id",
        rows: "order A
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S2 ref=A cutoff=+60m
               sent alder/S2/1 line=1 variant=V1
               submission alder/S1 ref=A cutoff=+30m
               sent alder/S1/1 line=1 variant=V1",
        finds: &["over-sent order=A supplier=alder submission=S2 sent=1:1 act=+30m"],
        change: ("submission alder/S2 ref=A", "submission alder/S2 ref=A status=rejected"),
        then_finds: &[],
    },
    Canary {
        rule: "a unit of a merged submission that serves none of its orders belongs to the first live one",
        rows: "order A status=cancelled
               order B
               line B/1 sku=K1
               order C
               line C/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A;C;B
               sent alder/S1/1 variant=V1 quantity=3",
        finds: &["over-sent order=C supplier=alder submission=S1 sent=1:1"],
        change: ("variant=V1 quantity=3", "variant=V1 quantity=2"),
        then_finds: &[],
    },
    // sent-after-cancel
    Canary {
        rule: "a cancelled order explains all of what only it is for",
        rows: "order A status=cancelled
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A cutoff=+60m
               sent alder/S1/1 line=1 variant=V1 quantity=2",
        finds: &["sent-after-cancel order=A supplier=alder submission=S1 sent=1:2 act=+60m"],
        change: ("cutoff=+60m", "cutoff=+60m status=cancelled"),
        then_finds: &[],
    },
    Canary {
        rule: "cancelled units of a line explain so many of its variant, the rest is over-sent",
        rows: "order A
               line A/1 sku=K1 quantity=2 cancelled=1
               variant alder/V1
               link sku=K1 to=alder/V1 units=2
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1 quantity=5",
        finds: &[
            "over-sent order=A supplier=alder submission=S1 sent=1:1",
            "sent-after-cancel order=A supplier=alder submission=S1 sent=1:2",
        ],
        change: (" cancelled=1", ""),
        then_finds: &["over-sent order=A supplier=alder submission=S1 sent=1:1"],
    },
    Canary {
        rule: "what is sent for an order that is not paid raises nothing",
        rows: "order A paid=-1m placed=-60m
               line A/1 sku=K1 cancelled=1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1",
        finds: &["sent-after-cancel order=A supplier=alder submission=S1 sent=1:1"],
        change: ("paid=-1m", "paid=+1m"),
        then_finds: &[],
    },
    // stray-submission
    Canary {
        rule: "a submission for no known order is stray once more than the grace has passed",
        rows: "order A placed=-90m status=unpaid
               variant alder/V1
               submission alder/S1 ref=Z at=-3601s cutoff=+60m
               sent alder/S1/1 variant=V1 quantity=2
               sent alder/S1/2 variant=V1 ref=A",
        finds: &["stray-submission supplier=alder submission=S1 sent=1:2"],
        change: ("at=-3601s", "at=-3600s"),
        then_finds: &[],
    },
    Canary {
        rule: "a reference that means a sample is not stray",
        rows: "samples ^S
               order A placed=-90m status=unpaid
               submission alder/S1 ref=Z-1 at=-61m
               sent alder/S1/1 variant=V1",
        finds: &["stray-submission supplier=alder submission=S1 sent=1:1"],
        change: ("ref=Z-1", "ref=S-1"),
        then_finds: &[],
    },
    Canary {
        rule: "what was received before the first order was placed is older than the book",
        rows: "order A placed=-61m status=unpaid
               submission alder/S1 at=-61m
               sent alder/S1/1 variant=V1",
        finds: &["stray-submission supplier=alder submission=S1 sent=1:1"],
        change: ("at=-61m", "at=-62m"),
        then_finds: &[],
    },
    Canary {
        rule: "a submission for an order that is not there yet is for no known order",
        rows: "order A placed=-90m status=unpaid
               order B placed=+1m
               submission alder/S1 at=-61m ref=B
               sent alder/S1/1 variant=V1",
        finds: &["stray-submission supplier=alder submission=S1 sent=1:1"],
        change: ("order B placed=+1m", "order B placed=+0m"),
        then_finds: &["over-sent order=B supplier=alder submission=S1 sent=1:1"],
    },
    // held, not-started
    Canary {
        rule: "a submission that is held for longer than the grace since its last change",
        rows: "order A placed=-9000m status=unpaid
               submission alder/S1 ref=A at=-2000m status=held updated=-721m cutoff=+60m
               sent alder/S1/1 variant=V1",
        finds: &["held supplier=alder submission=S1"],
        change: ("updated=-721m", "updated=-720m"),
        then_finds: &[],
    },
    Canary {
        rule: "one held line holds the submission, unless it was called off",
        rows: "order A placed=-9000m status=unpaid
               submission alder/S1 ref=A at=-721m status=making
               sent alder/S1/1 variant=V1 status=held
               sent alder/S1/2 variant=V1",
        finds: &["held supplier=alder submission=S1"],
        change: ("status=held", "status=cancelled"),
        then_finds: &[],
    },
    Canary {
        rule: "a submission that is still received",
        rows: "order A placed=-9000m status=unpaid
               submission alder/S1 ref=A at=-2881m
               sent alder/S1/1 variant=V1",
        finds: &["not-started supplier=alder submission=S1"],
        change: ("at=-2881m", "at=-2880m"),
        then_finds: &[],
    },
    // part-dispatched, late, dispatch-unmarked
    Canary {
        rule: "the rest of an order does not follow its first parcel",
        rows: "order A
               line A/1 sku=K1 quantity=2
               line A/2 sku=K2 quantity=2
               variant alder/V1 sku=K1
               variant alder/V2 sku=K2
               submission alder/S1 ref=A at=-4400m status=making cutoff=+60m
               sent alder/S1/1 line=1 variant=V1 quantity=2
               sent alder/S1/2 line=2 variant=V2 quantity=2
               parcel alder/P1 of=S1 at=-4321m
               packed alder/P1/1 quantity=1
               parcel alder/P2 of=S1 at=-10m
               packed alder/P2/2 quantity=2",
        finds: &["part-dispatched order=A lines=1:1 passed"],
        change: ("at=-4321m", "at=-4320m"),
        then_finds: &[],
    },
    Canary {
        rule: "the promise has passed, and something is not dispatched, sent or not",
        rows: "order A promised=-1s
               line A/1 sku=K1 quantity=3
               line A/2 sku=K2
               variant alder/V1 sku=K1
               link sku=K2 to=own
               submission alder/S1 ref=A status=making
               sent alder/S1/1 variant=V1 quantity=2
               parcel alder/P1 of=S1 at=-10m
               packed alder/P1/1 quantity=1",
        finds: &["part-sent order=A lines=1:1:short", "late order=A lines=1:2"],
        change: ("promised=-1s", "promised=+0s"),
        then_finds: &["part-sent order=A lines=1:1:short"],
    },
    Canary {
        rule: "a promise that is a day holds until its end",
        rows: "order A promised=2026-11-24
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 variant=V1",
        finds: &["late order=A lines=1:1"],
        change: ("promised=2026-11-24", "promised=2026-11-25"),
        then_finds: &[],
    },
    Canary {
        rule: "all is dispatched for long and the order is still open",
        rows: "order A placed=-9000m promised=-1m
               line A/1 sku=K1 quantity=2
               variant alder/V1 sku=K1
               submission alder/S1 ref=A status=making at=-8000m
               sent alder/S1/1 variant=V1 quantity=2
               parcel alder/P1 of=S1 at=-5000m
               packed alder/P1/1
               parcel alder/P2 of=S1 at=-1441m
               packed alder/P2/1",
        finds: &["dispatch-unmarked order=A"],
        change: ("at=-1441m", "at=-1440m"),
        then_finds: &[],
    },
    Canary {
        rule: "a dispatched submission without parcel lines is dispatched as a whole",
        rows: "order A placed=-9000m
               line A/1 sku=K1 quantity=2
               variant alder/V1 sku=K1
               submission alder/S1 ref=A status=dispatched at=-8000m
               sent alder/S1/1 variant=V1 quantity=2
               parcel alder/P1 of=S1 at=-5000m",
        finds: &["dispatch-unmarked order=A"],
        change: ("order A", "order A status=dispatched"),
        then_finds: &[],
    },
    // what decides which orders and lines are meant, and what was given at all
    Canary {
        rule: "submissions without the table of their lines are none for orders, and can be held all the same",
        rows: "order A paid=-3000m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1
               submission alder/S1 ref=A at=-721m status=held cutoff=+60m",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m", "held supplier=alder submission=S1"],
        change: ("submission alder", "given submission-lines\nsubmission alder"),
        then_finds: &[
            "unsent-order order=A lines=1:1:not-sent,2:1:no-link act=+60m",
            "held supplier=alder submission=S1",
        ],
    },
    Canary {
        rule: "a submission of which the lines were not given can be late to start",
        rows: "order A placed=-9000m status=unpaid
               submission alder/S1 ref=A at=-2881m",
        finds: &["not-started supplier=alder submission=S1"],
        change: ("at=-2881m", "at=-2880m"),
        then_finds: &[],
    },
    Canary {
        rule: "lines of submissions that were not given name no SKU either: without variants each is named at once",
        rows: "order A paid=-1m
               line A/1 sku=K9
               submission alder/S1 ref=A",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("submission alder", "given submission-lines\nsubmission alder"),
        then_finds: &[],
    },
    Canary {
        rule: "a supplier with a form of references of its own has nothing of the general one",
        rows: "references prefix=#
               references of=brook suffix=-x
               order A paid=-61m
               line A/1 sku=K1
               line A/2 sku=K2
               variant alder/V1 sku=K1
               variant brook/V2 sku=K2
               submission alder/S1 ref=#A
               sent alder/S1/1 variant=V1
               submission brook/S2 ref=#A
               sent brook/S2/1 variant=V2",
        finds: &["part-sent order=A lines=2:1:not-sent"],
        change: ("brook/S2 ref=#A", "brook/S2 ref=A-x"),
        then_finds: &[],
    },
    Canary {
        rule: "what stands before and behind is cut from every reference of a list",
        rows: "references prefix=# suffix=/1
               order A
               line A/1 sku=K1
               order B
               line B/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=#A/1;#B/2
               sent alder/S1/1 variant=V1 quantity=2",
        finds: &[
            "unsent-order order=B lines=1:1:not-sent",
            "over-sent order=A supplier=alder submission=S1 sent=1:1",
        ],
        change: ("#B/2", "#B/1"),
        then_finds: &[],
    },
    Canary {
        rule: "a pattern finds the id of an order by its group `order`, in every reference of a list",
        rows: r"references pattern=^(web|shop)-(?P<order>\d+)$
               order 7
               line 7/1 sku=K1
               order 8
               line 8/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=web-7~web8
               sent alder/S1/1 variant=V1 quantity=2",
        finds: &[
            "unsent-order order=8 lines=1:1:not-sent",
            "over-sent order=7 supplier=alder submission=S1 sent=1:1",
        ],
        change: ("web8", "shop-8"),
        then_finds: &[],
    },
    Canary {
        rule: "a pattern with a blank finds the id where no word of a reference is one",
        rows: r"references pattern=^order~no\.(\d+)$
               order 7
               line 7/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=order~nr.7
               sent alder/S1/1 variant=V1",
        finds: &["unsent-order order=7 lines=1:1:not-sent"],
        change: ("nr.7", "no.7"),
        then_finds: &[],
    },
    Canary {
        rule: "references are listed by `;` and blanks, and by nothing else",
        rows: "order A
               line A/1 sku=K1
               order B
               line B/1 sku=K1
               order C
               line C/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A,B;C
               sent alder/S1/1 variant=V1 quantity=3",
        finds: &[
            "unsent-order order=A lines=1:1:not-sent",
            "unsent-order order=B lines=1:1:not-sent",
            "over-sent order=C supplier=alder submission=S1 sent=1:2",
        ],
        change: ("ref=A,B;C", "ref=A~~B~;C"),
        then_finds: &[],
    },
    Canary {
        rule: "a reference that is an order's id, blanks and all, is that order; where that is not there yet, a list",
        rows: "order A
               line A/1 sku=K1
               order A~1
               line A~1/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A~1
               sent alder/S1/1 variant=V1",
        finds: &["unsent-order order=A lines=1:1:not-sent"],
        change: ("order A~1", "order A~1 placed=+1m"),
        then_finds: &[],
    },
    Canary {
        rule: "an order's id with blanks can stand in a list",
        rows: "order A
               line A/1 sku=K1
               order A~1
               line A~1/1 sku=K1
               order B
               line B/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=B~A~1
               sent alder/S1/1 variant=V1 quantity=2",
        finds: &["unsent-order order=A~1 lines=1:1:not-sent"],
        change: ("ref=B~A~1", "ref=B;A~1"),
        then_finds: &["unsent-order order=A lines=1:1:not-sent"],
    },
    Canary {
        rule: "an order's id with a `;` is that order",
        rows: "order 4;5
               line 4;5/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=4;5~
               sent alder/S1/1 variant=V1",
        finds: &["unsent-order order=4;5 lines=1:1:not-sent"],
        change: ("ref=4;5~", "ref=4;5"),
        then_finds: &[],
    },
    Canary {
        rule: "ids are the same byte by byte: orders'",
        rows: "order A placed=-62m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=a at=-61m
               sent alder/S1/1 variant=V1",
        finds: &[
            "unsent-order order=A lines=1:1:not-sent",
            "stray-submission supplier=alder submission=S1 sent=1:1",
        ],
        change: ("ref=a", "ref=A"),
        then_finds: &[],
    },
    Canary {
        rule: "ids are the same byte by byte: variants', though where one has no SKU its id is folded like one",
        rows: "order A paid=-61m
               line A/1 sku=v1
               variant alder/V1
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=v1",
        finds: &["wrong-variant order=A lines=1:1"],
        change: ("variant=v1", "variant=V1"),
        then_finds: &[],
    },
    Canary {
        rule: "SKUs are the same whatever their case, their runs of blanks and their form in Unicode",
        rows: "order A paid=-1m
               line A/1 sku=~k1\u{a0}\u{fb01}~
               variant alder/V1 sku=\u{ff2b}1~Fi
               given submissions
               given submission-lines",
        finds: &[],
        change: ("1~Fi", "1Fi"),
        then_finds: &["unsent-order order=A lines=1:1:no-link"],
    },
    Canary {
        rule: "two variants whose SKUs are the same but for case share one",
        rows: "order A paid=-1m
               line A/1 sku=K2
               variant alder/V1 sku=K2
               variant alder/V2 sku=k2
               given submissions
               given submission-lines",
        finds: &["unsent-order order=A lines=1:1:ambiguous-link"],
        change: ("sku=k2", "sku=k~2"),
        then_finds: &[],
    },
    Canary {
        rule: "a submission line's SKU is folded too",
        rows: "order A paid=-61m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 sku=k~1",
        finds: &["unsent-order order=A lines=1:1:not-sent"],
        change: ("sku=k~1", "sku=\u{ff4b}1~"),
        then_finds: &[],
    },
    Canary {
        rule: "option names and values are the same whatever their case, blanks and form in Unicode, in any order",
        rows: "order A paid=-1m
               line A/1 listing=L1 options=\u{ff33}ize:s,colour:Forest\u{a0}GREEN~
               variant alder/V1
               link listing=L1 options=Colour:forest~green,Size:S to=alder/V1
               given submissions
               given submission-lines",
        finds: &[],
        change: ("forest~green", "forestgreen"),
        then_finds: &["unsent-order order=A lines=1:1:no-link"],
    },
    Canary {
        rule: "an order placed at or after `until` raises nothing",
        rows: "until -60m
               order A placed=-61m
               line A/1 sku=K9
               given variants",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("until -60m", "until -61m"),
        then_finds: &[],
    },
    Canary {
        rule: "an order placed before `since` raises nothing",
        rows: "since -61m
               order A placed=-61m
               line A/1 sku=K9
               given variants",
        finds: &["unsent-order order=A lines=1:1:no-link"],
        change: ("since -61m", "since -60m"),
        then_finds: &[],
    },
    Canary {
        rule: "an order that raises nothing is matched all the same",
        rows: "since -100m
               report_from -90m
               order A placed=-101m
               line A/1 sku=K1
               order B placed=-91m
               line B/1 sku=K1
               order C placed=-90m
               line C/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=C;B;A
               sent alder/S1/1 variant=V1 quantity=2",
        finds: &["unsent-order order=C lines=1:1:not-sent"],
        change: ("quantity=2", "quantity=3"),
        then_finds: &[],
    },
    Canary {
        rule: "a surplus is the first live order's of the list; where that raises nothing, it raises nothing",
        rows: "report_from -90m
               order A placed=-90m
               line A/1 sku=K1
               order B placed=-90m
               line B/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A;B
               sent alder/S1/1 variant=V1 quantity=3",
        finds: &["over-sent order=A supplier=alder submission=S1 sent=1:1"],
        change: ("order A placed=-90m", "order A placed=-91m"),
        then_finds: &[],
    },
    // lines of no units
    Canary {
        rule: "a line of which nothing was bought is not missing",
        rows: "order A paid=-61m
               line A/1 sku=K1
               line A/2 sku=K9
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 variant=V1",
        finds: &["part-sent order=A lines=2:1:no-link"],
        change: ("line A/2 sku=K9", "line A/2 sku=K9 quantity=0"),
        then_finds: &[],
    },
    Canary {
        rule: "a submission line of no units sends nothing",
        rows: "order A paid=-61m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A
               sent alder/S1/1 line=1 variant=V1 quantity=0",
        finds: &["unsent-order order=A lines=1:1:not-sent"],
        change: ("quantity=0", "quantity=1"),
        then_finds: &[],
    },
    Canary {
        rule: "a submission line of no units is no stray",
        rows: "order A placed=-90m status=unpaid
               submission alder/S1 ref=Z at=-61m
               sent alder/S1/1 variant=V1
               sent alder/S1/2 variant=V1 quantity=0",
        finds: &["stray-submission supplier=alder submission=S1 sent=1:1"],
        change: ("S1/1 variant=V1", "S1/1 variant=V1 quantity=0"),
        then_finds: &[],
    },
    Canary {
        rule: "a parcel line of no units dispatches nothing, but says that the parcels' lines are known",
        rows: "order A placed=-9000m
               line A/1 sku=K1
               variant alder/V1 sku=K1
               submission alder/S1 ref=A status=dispatched at=-8000m
               sent alder/S1/1 variant=V1
               parcel alder/P1 of=S1 at=-5000m
               packed alder/P1/1 quantity=1",
        finds: &["dispatch-unmarked order=A"],
        change: ("quantity=1", "quantity=0"),
        then_finds: &[],
    },
    // offers
    Canary {
        rule: "offers that can be bought and lead nowhere, one finding per listing",
        rows: "order A status=unpaid
               variant alder/V1 sku=K1
               offer L1 options=Size:S sku=K1
               offer L1 options=Size:M sku=K9
               offer L1 options=Size:L",
        finds: &["offer-unlinked listing=L1 options=Size:L options=Size:M"],
        change: ("options=Size:L", "options=Size:L not-buyable"),
        then_finds: &["offer-unlinked listing=L1 options=Size:M"],
    },
    Canary {
        rule: "an offer that leads elsewhere than the owner means",
        rows: "order A status=unpaid
               variant alder/V1 sku=K1
               variant alder/V2 sku=K2
               offer L1 options=Size:S sku=K1
               link listing=L1 options=Size:S to=alder/V2 intended",
        finds: &["offer-unlinked listing=L1 options=Size:S"],
        change: ("to=alder/V2", "to=own"),
        then_finds: &[],
    },
    Canary {
        rule: "an offer and its variant contradict each other",
        rows: "order A status=unpaid
               variant alder/V1 sku=K1 reads=apron,S
               offer L1 options=Size:M sku=K1 reads=apron,M",
        finds: &["link-mismatch listing=L1 options=Size:M"],
        change: ("reads=apron,S", "reads=apron"),
        then_finds: &[],
    },
    Canary {
        rule: "a link to a variant that the supplier does not have now",
        rows: "order A status=unpaid
               variant alder/V1 sku=K1 not-available
               offer L1 options=none sku=K1",
        finds: &["link-unusable sku=k1"],
        change: (" not-available", ""),
        then_finds: &[],
    },
    Canary {
        rule: "a link to a variant that is not there",
        rows: "order A status=unpaid
               variant alder/V2
               offer L1 options=none not-buyable
               link listing=L1 options=none to=alder/V3",
        finds: &["link-unusable listing=L1 options=none"],
        change: ("to=alder/V3", "to=alder/V2"),
        then_finds: &[],
    },
    Canary {
        rule: "two offers of one listing lead to one variant, though they say different things",
        rows: "order A status=unpaid
               variant alder/V1 sku=K1
               offer L1 options=Size:S sku=K1 reads=apron,S
               offer L1 options=Size:M sku=K1 reads=apron,M
               offer L2 options=Size:M sku=K1 reads=apron,M",
        finds: &["shared-variant listing=L1 variant=alder/V1 options=Size:M options=Size:S"],
        change: ("Size:S sku=K1 reads=apron,S", "Size:S sku=K1 reads=apron,M"),
        then_finds: &[],
    },
    Canary {
        rule: "an offer brings less than its variants cost, with the fees",
        rows: "fee percent=10
               fee unit=1 currency=EUR
               order A status=unpaid
               variant alder/V1 cost=3 currency=EUR
               variant brook/V2 cost=2.01 currency=EUR
               offer L1 options=none price=10 currency=EUR
               link listing=L1 to=alder/V1 units=2
               link listing=L1 to=brook/V2",
        finds: &["loss-making listing=L1 options=none"],
        change: ("cost=2.01", "cost=2"),
        then_finds: &[],
    },
    Canary {
        rule: "costs in another currency are not compared",
        rows: "order A status=unpaid
               variant alder/V1 sku=K1 cost=3 currency=EUR
               offer L1 options=none sku=K1 price=2 currency=EUR",
        finds: &["loss-making listing=L1 options=none"],
        change: ("cost=3 currency=EUR", "cost=3 currency=NOK"),
        then_finds: &[],
    },
    Canary {
        rule: "of the fees, the one in the offer's currency counts, and no other",
        rows: "fee unit=1 currency=EUR
               fee unit=5 currency=NOK
               order A status=unpaid
               variant alder/V1 sku=K1 cost=2.01 currency=EUR
               offer L1 options=none sku=K1 price=3 currency=EUR",
        finds: &["loss-making listing=L1 options=none"],
        change: ("cost=2.01", "cost=2"),
        then_finds: &[],
    },
    Canary {
        rule: "a set with a part of which the cost is not known is not compared",
        rows: "order A status=unpaid
               variant alder/V1 cost=3 currency=EUR
               variant alder/V2 cost=0 currency=EUR
               offer L1 options=none price=2 currency=EUR
               link listing=L1 to=alder/V1
               link listing=L1 to=alder/V2",
        finds: &["loss-making listing=L1 options=none"],
        change: ("cost=0 currency=EUR", "currency=EUR"),
        then_finds: &[],
    },
];

fn sorted(mut lines: Vec<String>) -> Vec<String> {
    lines.sort();
    lines
}

/// Both books of every canary, each with what is expected.
fn books() -> impl Iterator<Item = (&'static str, String, Vec<String>)> {
    CANARIES.iter().flat_map(|canary| {
        let (from, to) = canary.change;
        let found = canary.rows.matches(from).count();
        assert!(found > 0, "{from:?} is not in the rows of {:?}", canary.rule);
        let changed = canary.rows.replacen(from, to, 1);
        let expected = |lines: &[&str]| sorted(lines.iter().map(|line| (*line).to_owned()).collect());
        [
            (canary.rule, canary.rows.to_owned(), expected(canary.finds)),
            (canary.rule, changed, expected(canary.then_finds)),
        ]
    })
}

#[test]
fn no_check_is_without_a_canary() {
    for check in Check::ALL.iter().filter(|check| !check.needs_history()) {
        let rings = |line: &&&str| line.split(' ').next() == Some(check.word());
        let canary = CANARIES.iter().find(|canary| {
            canary.finds.iter().any(|line| rings(&line)) && !canary.then_finds.iter().any(|line| rings(&line))
        });
        assert!(canary.is_some(), "{check} has none");
    }
}

#[test]
fn every_check_rings_where_the_oracle_looks() {
    for (rule, rows, expected) in books() {
        let case = notation::case(&rows);
        let findings = compared::answer(&case).findings;
        assert_eq!(sorted(compared::lines(&findings)), expected, "{rule}\n{case}");
    }
}

#[test]
fn every_check_rings() {
    for (rule, rows, expected) in books() {
        let case = notation::case(&rows);
        let findings = compared::reduced(&compared::outcome(&case));
        assert_eq!(sorted(compared::lines(&findings)), expected, "{rule}\n{case}");
        if let Err(differences) = compared::differences(&case) {
            panic!("{rule}: {differences}");
        }
    }
}
