//! A part-sent order is never masked: whatever else was sent, the line that nobody makes is still named.
//!
//! Everywhere an order has line 1, linked and sent, and line 2, linked to nothing; beside it stands what
//! could be taken for line 2. What is expected is written by hand from the rules. The notation is that of
//! `oracle/notation.rs`.

mod oracle;

use oracle::{compared, notation};

const ORDER: &str = "
    order A paid=-90m
    line A/1 sku=K1 reads=tote,-,white
    line A/2 sku=K9 reads=apron,S
    variant alder/V1 sku=K1 product=Tote reads=tote,-,white
    variant alder/V2 sku=K2 product=Apron reads=apron,S
    variant alder/V3 sku=K3 product=Apron reads=apron,M
    submission alder/S1 ref=A cutoff=+60m
    sent alder/S1/1 line=1 variant=V1
";

struct Mask {
    beside: &'static str,
    rows: &'static str,
    finds: &'static [&'static str],
}

#[rustfmt::skip]
const MASKS: &[Mask] = &[
    Mask {
        beside: "nothing",
        rows: "",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "line 1 in a second submission",
        rows: "submission alder/S2 ref=A cutoff=+30m
               sent alder/S2/1 line=1 variant=V1",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+30m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+30m",
        ],
    },
    Mask {
        beside: "line 1 twice in one submission line that names nothing",
        rows: "submission alder/S2 ref=A
               sent alder/S2/1 variant=V1 quantity=2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:2 act=+60m",
        ],
    },
    Mask {
        beside: "line 1 in a second submission that names line 2",
        rows: "submission alder/S2 ref=A
               sent alder/S2/1 line=2 variant=V1",
        finds: &[
            // It contradicts line 2 and names it: wrong, and so not missing any more.
            "wrong-variant order=A lines=2:1 act=+60m",
        ],
    },
    Mask {
        beside: "a second submission of line 1 that names line 2, of which nothing is read",
        rows: "order B paid=-90m
               line B/1 sku=K1
               line B/2 sku=K9
               submission alder/S2 ref=B
               sent alder/S2/1 line=1 variant=V1
               submission alder/S3 ref=B
               sent alder/S3/1 line=2 variant=V1",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "part-sent order=B lines=2:1:no-link",
            "over-sent order=B supplier=alder submission=S3 lines=2:1:no-link sent=1:1",
        ],
    },
    Mask {
        beside: "a stray submission of what line 2 says",
        rows: "submission alder/S2 ref=Z at=-61m
               sent alder/S2/1 line=2 variant=V2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "stray-submission supplier=alder submission=S2 sent=1:1",
        ],
    },
    Mask {
        beside: "a submission of what line 2 says, without a reference",
        rows: "submission alder/S2 at=-61m
               sent alder/S2/1 line=2 variant=V2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "stray-submission supplier=alder submission=S2 sent=1:1",
        ],
    },
    Mask {
        beside: "line 2 sent by hand in the wrong size, and a third line that nobody makes",
        rows: "line A/3 reads=apron,S
               submission alder/S2 ref=A
               sent alder/S2/1 line=2 variant=V3",
        finds: &[
            "part-sent order=A lines=3:1:no-link act=+60m",
            "wrong-variant order=A lines=2:1 act=+60m",
        ],
    },
    Mask {
        beside: "something by hand in another size, that names no line",
        rows: "submission alder/S2 ref=A
               sent alder/S2/1 variant=V3",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "line 2 sent by hand twice, and a third line that nobody makes",
        rows: "line A/3 reads=apron,M
               submission alder/S2 ref=A
               sent alder/S2/1 line=2 variant=V2 quantity=2",
        finds: &[
            "part-sent order=A lines=3:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=3:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "line 2 sent by hand twice without naming it, and a third line that nobody makes",
        rows: "line A/3 reads=apron,M
               submission alder/S2 ref=A
               sent alder/S2/1 variant=V2
               submission alder/S3 ref=A
               sent alder/S3/1 variant=V2",
        finds: &[
            "part-sent order=A lines=3:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S3 lines=3:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "a blank line reference on a variant of which nothing is read",
        rows: "variant alder/V4 sku=K4
               submission alder/S2 ref=A
               sent alder/S2/1 variant=V4",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "a blank line reference on a variant in a colour that line 2 does not say and its product could lack",
        rows: "variant alder/V4 sku=K4 product=Bib reads=apron,S,moss
               variant alder/V5 sku=K5 product=Bib reads=apron,S,white
               submission alder/S2 ref=A
               sent alder/S2/1 variant=V4",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "a line reference that no line has, on what line 2 says",
        rows: "submission alder/S2 ref=A
               sent alder/S2/1 line=9 variant=V2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "what line 2 says, where a third line is linked to something of which the same is read",
        rows: "variant brook/V9 sku=K8 product=Apron reads=apron,S
               line A/3 sku=K8 quantity=0
               submission alder/S2 ref=A
               sent alder/S2/1 variant=V2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "a submission line that names line 2 and no variant",
        rows: "submission alder/S2 ref=A
               sent alder/S2/1 line=2",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "a submission line that names line 2 and a SKU that nobody bears",
        rows: "submission alder/S2 ref=A
               sent alder/S2/1 line=2 sku=K7",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "a replacement of what line 2 says",
        rows: "submission alder/S2 ref=A replaces=S0
               sent alder/S2/1 line=2 variant=V2",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "a cancelled and a rejected submission of line 2",
        rows: "submission alder/S2 ref=A status=cancelled
               sent alder/S2/1 line=2 variant=V2 status=making
               submission alder/S3 ref=A
               sent alder/S3/1 line=2 variant=V2 status=rejected",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "a submission of line 2 that is not there yet",
        rows: "submission alder/S2 ref=A at=+1m
               sent alder/S2/1 line=2 variant=V2",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "a set of which one part is missing",
        rows: "line A/3 sku=K5
               link sku=K5 to=alder/V2
               link sku=K5 to=alder/V3
               submission alder/S2 ref=A
               sent alder/S2/1 line=3 variant=V2",
        finds: &["part-sent order=A lines=2:1:no-link,3:1:short act=+60m"],
    },
    Mask {
        beside: "a set of which one part was sent twice and the other never",
        rows: "line A/3 sku=K5
               link sku=K5 to=alder/V2
               link sku=K5 to=alder/V3
               submission alder/S2 ref=A
               sent alder/S2/1 line=3 variant=V2 quantity=2",
        finds: &[
            "part-sent order=A lines=2:1:no-link,3:1:short act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link,3:1:short sent=1:1 act=+60m",
        ],
    },
    Mask {
        beside: "another order's doubled line in a merged submission",
        rows: "order B paid=-90m
               line B/1 sku=K2 reads=apron,S
               submission alder/S2 ref=B;A
               sent alder/S2/1 variant=V2 quantity=2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=B supplier=alder submission=S2 sent=1:1",
        ],
    },
    Mask {
        beside: "a link that the owner only intends",
        rows: "link sku=K9 to=alder/V2 intended",
        finds: &["part-sent order=A lines=2:1:no-link act=+60m"],
    },
    Mask {
        beside: "a tie of line 1's submission line to line 1",
        rows: "tie A/1 alder/S1/1
               submission alder/S2 ref=A
               sent alder/S2/1 variant=V1
               tie A/1 alder/S2",
        finds: &[
            "part-sent order=A lines=2:1:no-link act=+60m",
            "over-sent order=A supplier=alder submission=S2 lines=2:1:no-link sent=1:1 act=+60m",
        ],
    },
];

/// What does make line 2: without these, the masks above would prove nothing.
#[rustfmt::skip]
const ANSWERS: &[&str] = &[
    "submission alder/S2 ref=A
     sent alder/S2/1 line=2 variant=V2",
    "submission alder/S2 ref=A
     sent alder/S2/1 variant=V2",
    "submission alder/S2 ref=A
     sent alder/S2/1 line=2 sku=K2",
    "submission alder/S2 ref=Z
     sent alder/S2/1 variant=V2
     tie A/2 alder/S2",
    "link sku=K9 to=alder/V2
     submission alder/S2 ref=A
     sent alder/S2/1 variant=V2",
    "link sku=K9 to=own",
];

fn sorted(mut lines: Vec<String>) -> Vec<String> {
    lines.sort();
    lines
}

fn books() -> impl Iterator<Item = (&'static str, String, Vec<String>)> {
    let masks = MASKS.iter().map(|mask| {
        let finds = mask.finds.iter().map(|line| (*line).to_owned()).collect();
        (mask.beside, format!("{ORDER}{}", mask.rows), sorted(finds))
    });
    let answers = ANSWERS.iter().map(|rows| (*rows, format!("{ORDER}{rows}"), Vec::new()));
    masks.chain(answers)
}

#[test]
fn the_missing_line_is_named_beside_whatever_else_was_sent_where_the_oracle_looks() {
    for (beside, rows, expected) in books() {
        let case = notation::case(&rows);
        let findings = compared::answer(&case).findings;
        assert_eq!(sorted(compared::lines(&findings)), expected, "beside {beside}\n{case}");
    }
}

#[test]
fn the_missing_line_is_named_beside_whatever_else_was_sent() {
    for (beside, rows, expected) in books() {
        let case = notation::case(&rows);
        let findings = compared::reduced(&compared::outcome(&case));
        assert_eq!(sorted(compared::lines(&findings)), expected, "beside {beside}\n{case}");
        if let Err(differences) = compared::differences(&case) {
            panic!("beside {beside}: {differences}");
        }
    }
}
