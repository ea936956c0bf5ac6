//! A paper as one page to read and print: no script, no address outside itself, photos inside it.

use crate::{
    Anchor, Block, Cell, Drawing, Error, Ink, Item, Level, Paper, Part, Photo, Pictures, Style, Table,
};
use base64::{Engine, engine::general_purpose::STANDARD};
use std::fmt::Write;

const STYLE: &str = include_str!("style.css");

/// Text as it stands in HTML.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// The paper as a page.
///
/// # Errors
/// [`Error::Stopped`] from the pictures.
pub fn html(paper: &Paper, pictures: &mut dyn Pictures) -> Result<String, Error> {
    let mut page = Page(String::new());
    page.raw("<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">");
    page.text("title", "", &paper.title);
    page.raw(&format!(
        "<style>{STYLE}</style></head><body><main class=\"packet\">"
    ));
    for block in &paper.blocks {
        page.block(block, pictures)?;
    }
    page.text("p", "hash", &paper.foot);
    page.text("p", "hash", &paper.job);
    page.raw("</main></body></html>");
    Ok(page.0)
}

/// A page in the making. What comes from people is escaped on its way in.
struct Page(String);

impl Page {
    fn raw(&mut self, markup: &str) {
        self.0.push_str(markup);
    }

    fn text(&mut self, tag: &str, class: &str, text: &str) {
        let class = match class {
            "" => String::new(),
            class => format!(" class=\"{class}\""),
        };
        // Writing into a String cannot fail.
        let _ = write!(self.0, "<{tag}{class}>{}</{tag}>", escape(text));
    }

    fn block(&mut self, block: &Block, pictures: &mut dyn Pictures) -> Result<(), Error> {
        match block {
            Block::Title(text) => self.text("h1", "", text),
            Block::Heading(Level::Part, text) => self.text("h2", "", text),
            Block::Heading(Level::Thing, text) => self.text("h3", "", text),
            Block::Text(style, text) => {
                let class = match style {
                    Style::Plain => "",
                    Style::Banner => "banner",
                    Style::Caution => "caution",
                    Style::Hash => "hash",
                };
                self.text("p", class, text);
            }
            Block::List(items) => {
                self.raw("<ul>");
                for item in items {
                    self.text("li", "", item);
                }
                self.raw("</ul>");
            }
            Block::Table(table) => self.table(table),
            Block::Drawing(drawing) => self.raw(&svg(drawing, "width=\"640\"")),
            Block::Photos(photos) => {
                self.raw("<div class=\"pair\">");
                for photo in photos {
                    let jpeg = pictures.jpeg(&photo.sha256)?;
                    self.photo(photo, jpeg);
                }
                self.raw("</div>");
            }
        }
        Ok(())
    }

    fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            return;
        }
        self.raw("<table><thead><tr>");
        for head in &table.heads {
            self.text("th", "", head);
        }
        self.raw("</tr></thead><tbody>");
        for row in &table.rows {
            self.raw("<tr>");
            for cell in row {
                let class = match cell {
                    Cell::Text(_) => "",
                    Cell::Small(_) => "working",
                    Cell::Number(_) => "number",
                };
                self.text("td", class, cell.text());
            }
            self.raw("</tr>");
        }
        self.raw("</tbody></table>");
    }

    fn photo(&mut self, photo: &Photo, jpeg: Option<Vec<u8>>) {
        self.raw("<figure>");
        match (jpeg, photo.part) {
            (Some(bytes), Some(part)) => self.raw(&seen(&photo.alt, part, &STANDARD.encode(bytes))),
            (Some(bytes), None) => self.raw(&format!(
                "<div class=\"drawn\"><img alt=\"{}\" src=\"data:image/jpeg;base64,{}\">{}</div>",
                escape(&photo.alt),
                STANDARD.encode(bytes),
                photo
                    .over
                    .as_ref()
                    .map(|over| svg(over, "class=\"over\""))
                    .unwrap_or_default()
            )),
            (None, _) => self.text("p", "", "This photo cannot be shown here; its original is kept."),
        }
        for (n, line) in photo.lines.iter().enumerate() {
            match n {
                0 => self.text("figcaption", "", line),
                _ if line.len() == 64 => self.text("p", "hash", line),
                _ => self.text("p", "", line),
            }
        }
        self.raw("</figure>");
    }
}

/// A photo below its frame, as a drawing of one picture: every browser turns and cuts that alike, on paper too.
fn seen(alt: &str, part: Part, jpeg: &str) -> String {
    let [a, b, x, y] = part.lies;
    format!(
        "<svg class=\"part\" viewBox=\"0 0 1 {:.4}\" role=\"img\" aria-label=\"{}\"><image width=\"1\" height=\"{:.4}\" \
         transform=\"matrix({a:.5} {b:.5} {:.5} {a:.5} {x:.5} {y:.5})\" href=\"data:image/jpeg;base64,{jpeg}\"/></svg>",
        part.frame,
        escape(alt),
        part.photo,
        -b
    )
}

/// A drawing; numbers with one decimal are fine enough for either measure.
fn svg(drawing: &Drawing, look: &str) -> String {
    let [left, top, width, height] = drawing.frame;
    let mut svg = format!("<svg {look} viewBox=\"{left} {top} {width} {height}\"");
    let hatched = drawing.items.iter().any(|item| matches!(item, Item::Hatch(_)));
    // Writing into a String cannot fail.
    let _ = match drawing.alt.as_str() {
        "" => write!(svg, ">"),
        alt => write!(svg, " role=\"img\" aria-label=\"{}\">", escape(alt)),
    };
    if hatched {
        svg.push_str(
            "<defs><pattern id=\"hatch\" width=\"60\" height=\"60\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"60\" stroke=\"#0b3d91\" \
             stroke-width=\"18\"/></pattern></defs>",
        );
    }
    for item in &drawing.items {
        let _ = match item {
            Item::Line {
                points,
                closed,
                ink,
                thick,
            } => {
                let mut d = String::new();
                for (n, [x, y]) in points.iter().enumerate() {
                    let _ = write!(d, "{}{x:.1} {y:.1}", if n == 0 { "M" } else { "L" });
                }
                if *closed {
                    d.push('Z');
                }
                let ink = hex(*ink);
                write!(
                    svg,
                    "<path d=\"{d}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"{thick:.1}\"/>"
                )
            }
            Item::Hatch([x, y, width, height]) => write!(
                svg,
                "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"url(#hatch)\"/>"
            ),
            Item::Words {
                at: [x, y],
                anchor,
                size,
                ink,
                edge,
                text,
            } => {
                let anchor = match anchor {
                    Anchor::Start => "start",
                    Anchor::End => "end",
                };
                let edge = match edge {
                    true => format!(" stroke-width=\"{:.1}\"", size * 0.25),
                    false => " stroke=\"none\"".to_owned(),
                };
                write!(
                    svg,
                    "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size:.1}\" font-family=\"sans-serif\" \
                     fill=\"{}\" text-anchor=\"{anchor}\"{edge}>{}</text>",
                    hex(*ink),
                    escape(text)
                )
            }
        };
    }
    svg.push_str("</svg>");
    svg
}

fn hex(ink: Ink) -> String {
    let [red, green, blue] = ink.rgb();
    format!("#{red:02x}{green:02x}{blue:02x}")
}

#[cfg(test)]
mod tests {
    #[test]
    fn what_people_typed_cannot_become_markup() {
        let typed = "<img src=x onerror=\"a('b')\"> & more";
        assert_eq!(
            super::escape(typed),
            "&lt;img src=x onerror=&quot;a(&#39;b&#39;)&quot;&gt; &amp; more"
        );
    }
}
