//! The forms of a paper, from outside: what a reader of the PDF, a spreadsheet or a program gets.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    missing_docs
)]

use bowseam_packet::{
    Anchor, Block, Cell, Drawing, Error, Ink, Item, Level, Paper, Photo, Pictures, Size, Style, Table, csv,
    html, pdf, xlsx,
};
use std::process::Command;

struct None_;

impl Pictures for None_ {
    fn jpeg(&mut self, _: &str) -> Result<Option<Vec<u8>>, Error> {
        Ok(None)
    }
}

fn table(rows: usize) -> Table {
    Table {
        name: "Lines".to_owned(),
        heads: ["item", "amount", "working"].map(str::to_owned).to_vec(),
        rows: (0..rows)
            .map(|n| {
                vec![
                    format!("item {n}").into(),
                    Cell::Number(format!("{n}.50")),
                    Cell::Small("a ".repeat(n * 10) + &"f".repeat(64)),
                ]
            })
            .collect(),
    }
}

fn paper() -> Paper {
    let drawing = Drawing {
        frame: [-3000.0, -250.0, 9000.0, 20_000.0],
        alt: "the body".to_owned(),
        to_scale: true,
        items: vec![
            Item::Line {
                points: vec![[0.0, 0.0], [3000.0, 0.0], [3000.0, 19_000.0]],
                closed: true,
                ink: Ink::Dark,
                thick: 14.0,
            },
            Item::Hatch([100.0, 100.0, 1200.0, 900.0]),
            Item::Words {
                at: [-100.0, 500.0],
                anchor: Anchor::End,
                size: 300.0,
                ink: Ink::Dark,
                edge: false,
                text: "1 tear".to_owned(),
            },
        ],
    };
    Paper {
        title: "Packet of unit 7".to_owned(),
        unit: "Unit 7".to_owned(),
        job: "job 0192".to_owned(),
        foot: "what it never says".to_owned(),
        size: Size::Letter,
        date: [2026, 3, 4, 5, 6],
        blocks: vec![
            Block::Title("Unit 7".to_owned()),
            Block::Text(Style::Banner, "inside not seen".to_owned()),
            Block::Heading(Level::Part, "Figures".to_owned()),
            Block::Heading(Level::Thing, "Roof".to_owned()),
            Block::Table(table(60)),
            Block::List(vec![
                "Ωμέγα ЖИТЬ ñandú ½ 3/8 ± °".to_owned(),
                "a \u{4e2d} → b ≤ c\u{7}".to_owned(),
            ]),
            Block::Text(
                Style::Caution,
                "Nobody stands in line with the pullers. ".repeat(120),
            ),
            Block::Drawing(drawing),
            Block::Photos(vec![
                Photo {
                    sha256: "0".repeat(64),
                    alt: "before".to_owned(),
                    lines: vec!["before".to_owned(), "0".repeat(64)],
                    over: None,
                };
                3
            ]),
        ],
    }
}

/// The text of a PDF as another program reads it.
fn text(pdf: &[u8]) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("paper.pdf");
    std::fs::write(&file, pdf).unwrap();
    let read = Command::new("pdftotext")
        .arg("-layout")
        .arg(&file)
        .arg("-")
        .output();
    let Ok(read) = read else {
        eprintln!("skipped: pdftotext (poppler-utils) is not here");
        return None;
    };
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    Some(String::from_utf8(read.stdout).unwrap())
}

#[test]
fn the_text_of_the_pdf_can_be_searched_and_each_page_says_unit_job_and_number() {
    let made = pdf(&paper(), &mut None_).unwrap();
    assert!(made.starts_with(b"%PDF-1.7"));
    let Some(text) = text(&made) else { return };
    for said in [
        "Ωμέγα ЖИТЬ ñandú ½ 3/8 ± °",
        "a \u{fffd} -> b <= c",
        "1 tear",
        "Scale 1 : 100",
        "item 59",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
    let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
    let count = pages.len();
    assert!(count > 5, "{count}");
    for (n, page) in pages.iter().enumerate() {
        for said in [
            "Unit 7",
            "job 0192",
            "what it never says",
            &format!("page {} of {count}", n + 1),
        ] {
            assert!(page.contains(said), "{said} on page {n}: {page}");
        }
    }
    let heads = text.lines().filter(|line| line.contains("working")).count();
    assert!(heads > 1, "the heads of a table stand again on its next page");
}

#[test]
fn the_same_paper_gives_the_same_bytes_in_every_form() {
    let paper = paper();
    let once = || {
        (
            pdf(&paper, &mut None_).unwrap(),
            html(&paper, &mut None_).unwrap(),
            xlsx("Unit 7", paper.date, &[table(3)]).unwrap(),
            csv(&table(3)).unwrap(),
        )
    };
    assert!(once() == once());
}

#[test]
fn the_pdf_is_tagged_and_says_the_standards_it_was_checked_against() {
    let made = pdf(&paper(), &mut None_).unwrap();
    let found = |what: &str| made.windows(what.len()).any(|w| w == what.as_bytes());
    for what in [
        "/StructTreeRoot",
        "/MarkInfo",
        "/Outlines",
        "pdfaid:part",
        "pdfuaid:part",
    ] {
        assert!(found(what), "{what}");
    }
}

#[test]
fn what_people_typed_is_no_formula_and_quotes_stand() {
    let table = Table {
        name: "x".to_owned(),
        heads: vec!["what".to_owned(), "how much".to_owned()],
        rows: vec![
            vec!["=HYPERLINK(\"a\")".into(), Cell::Number("-1.50".to_owned())],
            vec!["a, \"b\"\nc".into(), Cell::Number("2".to_owned())],
        ],
    };
    let made = csv(&table).unwrap();
    assert_eq!(
        made,
        "\u{feff}what,how much\r\n\"'=HYPERLINK(\"\"a\"\")\",-1.50\r\n\"a, \"\"b\"\"\nc\",2\r\n"
    );
    assert!(
        xlsx("x", [2026, 1, 1, 0, 0], &[table])
            .unwrap()
            .starts_with(b"PK")
    );
}

#[test]
fn a_stopped_paper_says_so() {
    struct Stops;
    impl Pictures for Stops {
        fn jpeg(&mut self, _: &str) -> Result<Option<Vec<u8>>, Error> {
            Err(Error::Stopped)
        }
    }
    assert_eq!(pdf(&paper(), &mut Stops).unwrap_err().code(), "packet_stopped");
    assert_eq!(html(&paper(), &mut Stops).unwrap_err().code(), "packet_stopped");
}
