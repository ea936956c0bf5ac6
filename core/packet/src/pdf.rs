//! A paper as PDF: tagged, with contents, checked while it is written against PDF/A-2a and PDF/UA-1.

use crate::draw::{self, Draw};
use crate::flow::{Flow, Node, Op, SMALL};
use crate::letters::{Letters, Weight};
use crate::pages::{Placed, pages};
use crate::{Error, Ink, Level, Paper, Part, Photo, Pictures, Size};
use krilla::color::rgb;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect, Size as Wide, Transform};
use krilla::image::Image;
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag, TagGroup, TagTree};
use krilla::{Document, SerializeSettings};

/// Left and right, top and bottom, in points.
const MARGIN: [f32; 3] = [44.0, 52.0, 46.0];
/// Between the lines of a hatching, and their width.
const HATCH: [f32; 2] = [2.8, 0.7];

/// The paper as PDF.
///
/// # Errors
/// [`Error::Stopped`] from the pictures, [`Error::Pdf`].
pub fn pdf(paper: &Paper, pictures: &mut dyn Pictures) -> Result<Vec<u8>, Error> {
    let letters = Letters::load()?;
    let [wide, high] = match paper.size {
        Size::Letter => [612.0, 792.0],
        Size::A4 => [595.28, 841.89],
    };
    let [side, top, bottom] = MARGIN;
    let room = [wide - 2.0 * side, high - top - bottom];
    let mut flow = Flow::new(&letters, room[0], room[1]);
    for block in &paper.blocks {
        flow.block(block);
    }
    let made = pages(&flow.pieces, room[1]);
    let mut sheet = Sheet {
        letters: &letters,
        pictures,
        read: flow.nodes.iter().map(|_| Vec::new()).collect(),
        contents: Vec::new(),
        room,
    };
    let mut document = Document::new_with(settings()?);
    let count = made.len();
    let mut drawn = Ok(());
    for (n, placed) in made.iter().enumerate() {
        let size = PageSettings::from_wh(wide, high).ok_or_else(|| Error::Pdf("no page".to_owned()))?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        surface.push_transform(&Transform::from_translate(side, top));
        sheet.frame(&mut surface, paper, n.saturating_add(1), count);
        // A surface is finished in order, also when nothing more is drawn on it.
        drawn = placed
            .iter()
            .try_for_each(|placed| sheet.piece(&mut surface, n, placed));
        surface.pop();
        surface.finish();
        page.finish();
        if drawn.is_err() {
            break;
        }
    }
    drawn?;
    let Sheet { read, contents, .. } = sheet;
    document.set_metadata(metadata(paper));
    document.set_outline(outline(&contents));
    document.set_tag_tree(tree(flow.nodes, read));
    document.finish().map_err(|e| Error::Pdf(format!("{e:?}")))
}

fn settings() -> Result<SerializeSettings, Error> {
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_A)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|e| Error::Pdf(format!("{e:?}")))?;
    Ok(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    })
}

fn metadata(paper: &Paper) -> Metadata {
    let [year, month, day, hour, minute] = paper.date;
    let small = |n: u16| u8::try_from(n).unwrap_or_default();
    let made = DateTime::new(year)
        .month(small(month))
        .day(small(day))
        .hour(small(hour))
        .minute(small(minute))
        .second(0)
        .utc_offset_hour(0)
        .utc_offset_minute(0);
    Metadata::new()
        .title(paper.title.clone())
        .language("en".to_owned())
        .creator("Bowseam".to_owned())
        .creation_date(made)
        .document_id(paper.job.clone())
}

/// A line of the contents: page and height on it.
struct Content {
    level: Level,
    text: String,
    page: usize,
    y: f32,
}

fn outline(contents: &[Content]) -> Outline {
    let mut parts: Vec<OutlineNode> = Vec::new();
    for content in contents {
        let to = XyzDestination::new(content.page, Point::from_xy(0.0, content.y));
        let node = OutlineNode::new(content.text.clone(), to);
        match (content.level, parts.last_mut()) {
            (Level::Thing, Some(part)) => part.push_child(node),
            _ => parts.push(node),
        }
    }
    let mut outline = Outline::new();
    for part in parts {
        outline.push_child(part);
    }
    outline
}

/// The reading order; a node comes after its parent, so the last ones are put into theirs first.
fn tree(nodes: Vec<Node>, read: Vec<Vec<Identifier>>) -> TagTree {
    let parents: Vec<Option<usize>> = nodes.iter().map(|node| node.parent).collect();
    let mut groups: Vec<Option<TagGroup>> = Vec::new();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
    for (n, (node, identifiers)) in nodes.into_iter().zip(read).enumerate() {
        let mut group = TagGroup::new(node.kind);
        for identifier in identifiers {
            group.push(identifier);
        }
        groups.push(Some(group));
        if let Some(children) = node.parent.and_then(|parent| children.get_mut(parent)) {
            children.push(n);
        }
    }
    for (n, children) in children.iter().enumerate().rev() {
        let taken: Vec<TagGroup> = children
            .iter()
            .filter_map(|child| groups.get_mut(*child)?.take())
            .collect();
        if let Some(Some(group)) = groups.get_mut(n) {
            for child in taken {
                group.push(child);
            }
        }
    }
    let mut tree = TagTree::new();
    for (group, parent) in groups.into_iter().zip(parents) {
        if let (Some(group), None) = (group, parent) {
            tree.push(group);
        }
    }
    tree
}

/// A page being drawn.
struct Sheet<'a> {
    letters: &'a Letters,
    pictures: &'a mut dyn Pictures,
    /// What was drawn of each node.
    read: Vec<Vec<Identifier>>,
    contents: Vec<Content>,
    room: [f32; 2],
}

impl Sheet<'_> {
    /// Head and foot of a page: unit and job, the foot's words, page of pages.
    fn frame(&self, surface: &mut Surface, paper: &Paper, n: usize, count: usize) {
        let ([wide, high], [size, _]) = (self.room, SMALL);
        let mut artifact = |kind, y: f32, left: &str, right: &str, rule: f32| {
            surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
            let right = self.letters.clean(right);
            let x = wide - self.letters.width(Weight::Regular, size, &right);
            self.words(
                surface,
                [0.0, y],
                (Weight::Regular, size, Ink::Quiet, 0.0),
                &self.letters.clean(left),
            );
            self.words(surface, [x, y], (Weight::Regular, size, Ink::Quiet, 0.0), &right);
            line(surface, &[[0.0, rule], [wide, rule]], false, Ink::Grey, 0.5);
            surface.end_tagged();
        };
        artifact(ArtifactType::Header, -18.0, &paper.unit, &paper.job, -12.0);
        let of = format!("page {n} of {count}");
        artifact(ArtifactType::Footer, high + 22.0, &paper.foot, &of, high + 11.0);
    }

    fn piece(&mut self, surface: &mut Surface, page: usize, placed: &Placed) -> Result<(), Error> {
        if let Some((level, text)) = &placed.piece.outline {
            self.contents.push(Content {
                level: *level,
                text: text.clone(),
                page,
                y: placed.y + MARGIN[1],
            });
        }
        surface.push_transform(&Transform::from_translate(0.0, placed.y));
        let mut parts = placed.piece.ops.chunk_by(|a, b| a.node == b.node);
        let drawn = parts.try_for_each(|same| self.part(surface, same));
        surface.pop();
        drawn
    }

    /// Things of one node, as one content of it.
    fn part(&mut self, surface: &mut Surface, same: &[Op]) -> Result<(), Error> {
        let node = same.first().and_then(|op| op.node);
        let all_words = same.iter().all(|op| matches!(op.draw, Draw::Words { .. }));
        let identifier = surface.start_tagged(match node {
            None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            Some(_) if all_words => ContentTag::Span(SpanTag::empty()),
            Some(_) => ContentTag::Other,
        });
        let drawn = self.drawn(surface, same);
        surface.end_tagged();
        if let Some(read) = node.and_then(|node| self.read.get_mut(node)) {
            read.push(identifier);
        }
        drawn
    }

    fn drawn(&mut self, surface: &mut Surface, ops: &[Op]) -> Result<(), Error> {
        for op in ops {
            match &op.draw {
                Draw::Photo { photo, room } => self.photo(surface, photo, *room)?,
                draw => self.draw(surface, draw),
            }
        }
        Ok(())
    }

    fn draw(&self, surface: &mut Surface, draw: &Draw) {
        match draw {
            Draw::Words {
                at,
                weight,
                size,
                ink,
                edge,
                text,
            } => {
                self.words(surface, *at, (*weight, *size, *ink, *edge), text);
            }
            Draw::Line {
                points,
                closed,
                ink,
                thick,
            } => line(surface, points, *closed, *ink, *thick),
            Draw::Hatch(rect) => hatch(surface, *rect),
            Draw::Photo { .. } => {}
        }
    }

    fn words(
        &self,
        surface: &mut Surface,
        [x, y]: [f32; 2],
        (weight, size, ink, edge): (Weight, f32, Ink, f32),
        text: &str,
    ) {
        let glyphs = self.letters.glyphs(weight, text);
        let mut put = |fill: Option<Fill>, stroke: Option<Stroke>, outlined: bool| {
            surface.set_fill(fill);
            surface.set_stroke(stroke);
            surface.draw_glyphs(
                Point::from_xy(x, y),
                &glyphs,
                self.letters.font(weight),
                text,
                size,
                outlined,
            );
        };
        if edge > 0.0 {
            // The white edge as outlines, so that a search finds the words once.
            put(None, Some(stroke(Ink::White, edge)), true);
        }
        put(Some(fill(ink)), None, false);
    }

    /// As large as fits into its room, at its left, with what is drawn over it; a sentence where it cannot be shown.
    fn photo(
        &mut self,
        surface: &mut Surface,
        photo: &Photo,
        [left, top, wide, high]: [f32; 4],
    ) -> Result<(), Error> {
        let image = self
            .pictures
            .jpeg(&photo.sha256)?
            .and_then(|jpeg| Image::from_jpeg(jpeg.into(), false).ok());
        let Some(image) = image else {
            line(surface, &corners([left, top, wide, high]), true, Ink::Grey, 0.5);
            let said = "This photo cannot be shown here; its original is kept.";
            let look = (Weight::Regular, SMALL[0], Ink::Quiet, 0.0);
            self.words(surface, [left + 6.0, top + 14.0], look, said);
            return Ok(());
        };
        if let Some(part) = photo.part {
            seen(surface, image, part, [left, top, wide, high]);
            return Ok(());
        }
        let (x, y) = image.size();
        let [x, y] = [x, y].map(|side| draw::points(f64::from(side.max(1))));
        let scale = (wide / x).min(high / y);
        let Some(size) = Wide::from_wh(x * scale, y * scale) else {
            return Ok(());
        };
        surface.push_transform(&Transform::from_translate(left, top));
        surface.draw_image(image, size);
        surface.pop();
        if let Some(over) = &photo.over {
            let [_, _, width, _] = over.frame.map(draw::points);
            let scale = size.width() / width.max(1.0);
            let frame = corners([left, top, size.width(), size.height()]);
            if let Some(clip) = path(&frame, true) {
                surface.push_clip_path(&clip, &FillRule::NonZero);
                for draw in draw::ops(over, [left, top], scale, self.letters) {
                    self.draw(surface, &draw);
                }
                surface.pop();
            }
        }
        Ok(())
    }
}

/// A part of a photo through its frame, which is as large as fits into the room, at its left.
fn seen(surface: &mut Surface, image: Image, part: Part, [left, top, room, high]: [f32; 4]) {
    let wide = room.min(high / draw::points(part.frame));
    let frame = corners([left, top, wide, wide * draw::points(part.frame)]);
    let (Some(clip), Some(size)) = (
        path(&frame, true),
        Wide::from_wh(wide, wide * draw::points(part.photo)),
    ) else {
        return;
    };
    let [a, b, x, y] = part.lies.map(draw::points);
    surface.push_clip_path(&clip, &FillRule::NonZero);
    surface.push_transform(&Transform::from_row(a, b, -b, a, left + x * wide, top + y * wide));
    surface.draw_image(image, size);
    surface.pop();
    surface.pop();
}

fn rgb(ink: Ink) -> rgb::Color {
    let [red, green, blue] = ink.rgb();
    rgb::Color::new(red, green, blue)
}

fn fill(ink: Ink) -> Fill {
    Fill {
        paint: rgb(ink).into(),
        ..Fill::default()
    }
}

fn stroke(ink: Ink, width: f32) -> Stroke {
    Stroke {
        paint: rgb(ink).into(),
        width,
        line_cap: LineCap::Butt,
        line_join: LineJoin::Round,
        ..Stroke::default()
    }
}

const fn corners([x, y, width, height]: [f32; 4]) -> [[f32; 2]; 4] {
    [[x, y], [x + width, y], [x + width, y + height], [x, y + height]]
}

fn path(points: &[[f32; 2]], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (n, [x, y]) in points.iter().enumerate() {
        if n == 0 {
            builder.move_to(*x, *y);
        } else {
            builder.line_to(*x, *y);
        }
    }
    if closed {
        builder.close();
    }
    builder.finish()
}

fn line(surface: &mut Surface, points: &[[f32; 2]], closed: bool, ink: Ink, thick: f32) {
    if let Some(path) = path(points, closed) {
        surface.set_fill(None);
        surface.set_stroke(Some(stroke(ink, thick)));
        surface.draw_path(&path);
    }
}

/// Lines from lower left to upper right within the rectangle.
fn hatch(surface: &mut Surface, [x, y, width, height]: [f32; 4]) {
    let [gap, thick] = HATCH;
    let Some(clip) = Rect::from_xywh(x, y, width.max(0.1), height.max(0.1)) else {
        return;
    };
    let mut frame = PathBuilder::new();
    frame.push_rect(clip);
    let Some(frame) = frame.finish() else { return };
    surface.push_clip_path(&frame, &FillRule::NonZero);
    let mut at = x + gap / 2.0;
    while at < x + width + height {
        line(
            surface,
            &[[at, y], [at - height, y + height]],
            false,
            Ink::Blue,
            thick,
        );
        at += gap;
    }
    surface.pop();
}
