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
    Anchor, Block, Cell, Drawing, Error, Ink, Item, Level, Paper, Part, Photo, Pictures, Size, Style, Table,
    csv, html, pdf, xlsx,
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
                    part: None,
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

/// Pictures of bars that are `scale` as wide and begin at `from`, of 400 by 300 pixels.
struct Bars;

impl Pictures for Bars {
    fn jpeg(&mut self, name: &str) -> Result<Option<Vec<u8>>, Error> {
        let [scale, from] = match name {
            "before" => [1.0, 0.0],
            _ => [0.8, 0.1],
        };
        let picture = image::RgbImage::from_fn(400, 300, |x, y| {
            let [u, v] = [f64::from(x) / 400.0, f64::from(y) / 400.0];
            let [u, v] = [u * scale + from, v * scale + from];
            let shade = ((u * 9.0).floor() + (v * 9.0).floor()) as i64 % 3;
            image::Rgb([80 * u8::try_from(shade).unwrap(), 120, (u * 250.0) as u8])
        });
        let mut bytes = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
        Ok(Some(bytes.into_inner()))
    }
}

/// A page of the PDF as another program draws it, 72 pixels an inch: its width and its pixels.
fn drawn(pdf: &[u8]) -> Option<image::RgbImage> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("paper.pdf");
    std::fs::write(&file, pdf).unwrap();
    let to = folder.path().join("page");
    let done = Command::new("pdftoppm")
        .args(["-r", "72", "-png", "-singlefile"])
        .arg(&file)
        .arg(&to)
        .status();
    let Ok(done) = done else {
        eprintln!("skipped: pdftoppm (poppler-utils) is not here");
        return None;
    };
    assert!(done.success());
    Some(image::open(to.with_extension("png")).unwrap().into_rgb8())
}

#[test]
fn the_same_part_of_two_photos_is_drawn_alike_and_in_its_frame() {
    let photo = |name: &str, lies| Photo {
        sha256: name.to_owned(),
        alt: name.to_owned(),
        lines: vec![name.to_owned()],
        over: None,
        part: Some(Part {
            frame: 0.75,
            photo: 0.75,
            lies,
        }),
    };
    // The after photo shows .1 to .9 of the before photo's width; the part is .2 to .8.
    let paper = Paper {
        blocks: vec![Block::Photos(vec![
            photo("before", [1.0 / 0.6, 0.0, -0.2 / 0.6, -0.2 / 0.6]),
            photo("after", [0.8 / 0.6, 0.0, -0.1 / 0.6, -0.1 / 0.6]),
        ])],
        ..paper()
    };
    let page = html(&paper, &mut Bars).unwrap();
    assert_eq!(
        page.matches("<svg class=\"part\" viewBox=\"0 0 1 0.7500\"")
            .count(),
        2
    );
    assert!(
        page.contains("matrix(1.66667 0.00000 -0.00000 1.66667 -0.33333 -0.33333)"),
        "{page}"
    );
    let Some(page) = drawn(&pdf(&paper, &mut Bars).unwrap()) else {
        return;
    };
    // Left margin 44, upper margin 52; the rooms are 257 wide and 10 apart, the frames .68 / .75 of that.
    let (left, top, wide, high) = (44, 52, 233, 174);
    let mut off = 0.0;
    for y in 3..high - 3 {
        for x in 3..wide - 3 {
            let [one, other] = [left + x, left + 267 + x].map(|x| page.get_pixel(x, top + y).0);
            off += one
                .iter()
                .zip(other)
                .map(|(a, b)| f64::from(a.abs_diff(b)))
                .sum::<f64>()
                / 3.0;
        }
    }
    let off = off / f64::from((high - 6) * (wide - 6));
    assert!(off < 12.0, "they differ by {off}");
    let white = |x: u32, y: u32| page.get_pixel(x, y).0.iter().all(|c| *c > 250);
    assert!(!white(left + wide / 2, top + high / 2));
    for x in [left - 3, left + wide + 4, left + 267 + wide + 4] {
        assert!(
            (top..top + high).all(|y| white(x, y)),
            "something is drawn beside the frame at {x}"
        );
    }
}
