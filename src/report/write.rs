//! Sheets to PDF: fonts embedded and cut to their letters, text tagged in reading order.

use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::Colour;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Shape;
use crate::report::About;
use crate::report::ReportError;
use crate::report::sheet::Block;
use crate::report::sheet::Flow;
use crate::report::sheet::Item;
use crate::report::sheet::Leaf;
use crate::report::sheet::MARGIN;
use crate::report::sheet::SMALL;
use crate::report::typeset::Face;
use crate::report::typeset::Line;
use crate::report::typeset::Setter;
use crate::texts;
use krilla::Document;
use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::configure::Accessibility;
use krilla::configure::ConfigurationBuilder;
use krilla::destination::XyzDestination;
use krilla::geom::Path;
use krilla::geom::PathBuilder;
use krilla::geom::Point;
use krilla::geom::Rect;
use krilla::geom::Size;
use krilla::geom::Transform;
use krilla::image::Image;
use krilla::metadata::DateTime;
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::Outline;
use krilla::outline::OutlineNode;
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::paint::FillRule;
use krilla::paint::LineCap;
use krilla::paint::LineJoin;
use krilla::paint::Stroke;
use krilla::surface::Surface;
use krilla::tagging::Artifact;
use krilla::tagging::ArtifactType;
use krilla::tagging::ContentTag;
use krilla::tagging::Identifier;
use krilla::tagging::ListNumbering;
use krilla::tagging::SpanTag;
use krilla::tagging::TableHeaderScope;
use krilla::tagging::Tag;
use krilla::tagging::TagGroup;
use krilla::tagging::TagTree;
use std::num::NonZeroU16;

/// Language of all texts of the program.
const LANGUAGE: &str = "en";
/// A circle as four cubic curves: distance of their handles, in radii.
const HANDLE: f32 = 0.552_284_8;
/// The letters of a drawing are given by the height of their line; their size is so much of it.
const SIZE_OF_LINE: f64 = 0.86;
/// From the middle of letters down to their base line, in sizes.
const TO_BASE_LINE: f32 = 0.36;

/// Writes the sheets. The same sheets give the same bytes.
///
/// # Errors
/// [`ReportError`] when a picture is no JPEG or the document breaks a rule of its format.
pub(in crate::report) fn write(mut flow: Flow, about: &About) -> Result<Vec<u8>, ReportError> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|fault| ReportError::Pdf(format!("{fault:?}")))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    document.set_metadata(metadata(about));
    let size = Size::from_wh(flow.paper[0], flow.paper[1]).ok_or(ReportError::Format)?;
    let sheets = std::mem::take(&mut flow.sheets);
    let all = sheets.len();
    let places: Vec<Vec<f32>> = sheets
        .iter()
        .map(|items| items.iter().map(top_of).collect())
        .collect();
    let mut named: Vec<Vec<Option<Identifier>>> = Vec::with_capacity(all);
    for (number, items) in sheets.into_iter().enumerate() {
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        let mut own = Vec::with_capacity(items.len());
        for item in items {
            own.push(draw(&mut surface, item, &mut flow.setter)?);
        }
        foot(&mut surface, &mut flow, about, [number + 1, all]);
        surface.finish();
        page.finish();
        named.push(own);
    }
    document.set_outline(outline(&flow.blocks, &places));
    document.set_tag_tree(tree(&flow.blocks, &mut named)?);
    document
        .finish()
        .map_err(|fault| ReportError::Pdf(format!("{fault:?}")))
}

fn metadata(about: &About) -> Metadata {
    let mut metadata = Metadata::new()
        .title(about.title.clone())
        .language(LANGUAGE.to_owned())
        .creator(about.program.clone())
        .document_id(about.title.clone());
    if let Some(made) = about.made {
        let date = DateTime::new(made.year)
            .month(made.month)
            .day(made.day)
            .hour(made.hour)
            .minute(made.minute)
            .second(0)
            .utc_offset_hour((made.offset_minutes / 60) as i8)
            .utc_offset_minute((made.offset_minutes.abs() % 60) as u8);
        metadata = metadata.creation_date(date);
    }
    metadata
}

/// Program and number at the foot of a sheet.
fn foot(surface: &mut Surface<'_>, flow: &mut Flow, about: &About, [number, all]: [usize; 2]) {
    let kind = Artifact::with_kind(ArtifactType::Footer);
    surface.start_tagged(ContentTag::Artifact(kind));
    let y = flow.paper[1] - MARGIN + 4.0;
    let right = flow.paper[0] - MARGIN;
    let grey = Colour::solid([92, 96, 104]);
    for line in flow.setter.set(&about.foot, SMALL, None) {
        text(surface, &line, [MARGIN, y], grey);
    }
    for line in flow
        .setter
        .set(&texts::page::page_of(number, all), SMALL, None)
    {
        text(surface, &line, [right - line.width, y], grey);
    }
    surface.end_tagged();
}

fn draw(
    surface: &mut Surface<'_>,
    item: Item,
    setter: &mut Setter,
) -> Result<Option<Identifier>, ReportError> {
    match item {
        Item::Text { line, x, y, colour } => {
            let name = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            text(surface, &line, [x, y], colour);
            surface.end_tagged();
            Ok(Some(name))
        }
        Item::Drawing {
            drawing,
            x,
            y,
            scale,
        } => {
            let name = surface.start_tagged(ContentTag::Other);
            surface.push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, x, y));
            let (wide, high) = (drawing.width as f32, drawing.height as f32);
            let sheet = Rect::from_xywh(0.0, 0.0, wide, high).ok_or(ReportError::Format)?;
            let mut border = PathBuilder::new();
            border.push_rect(sheet);
            let border = border.finish().ok_or(ReportError::Format)?;
            surface.push_clip_path(&border, &FillRule::NonZero);
            shapes(surface, &drawing, setter);
            surface.pop();
            surface.pop();
            surface.end_tagged();
            Ok(Some(name))
        }
        Item::Picture {
            jpeg,
            x,
            y,
            width,
            height,
        } => {
            let image = Image::from_jpeg(jpeg.into(), true).map_err(ReportError::Picture)?;
            let size = Size::from_wh(width, height).ok_or(ReportError::Format)?;
            let name = surface.start_tagged(ContentTag::Other);
            surface.push_transform(&Transform::from_translate(x, y));
            surface.draw_image(image, size);
            surface.pop();
            surface.end_tagged();
            Ok(Some(name))
        }
        Item::Rule { from, to, width } => {
            let kind = Artifact::with_kind(ArtifactType::Layout);
            surface.start_tagged(ContentTag::Artifact(kind));
            let mut path = PathBuilder::new();
            path.move_to(from[0], from[1]);
            path.line_to(to[0], to[1]);
            stroke(surface, path.finish(), width, Colour::solid([24, 26, 32]));
            surface.end_tagged();
            Ok(None)
        }
    }
}

fn fill(colour: Colour) -> Fill {
    let [r, g, b] = colour.rgb;
    Fill {
        paint: rgb::Color::new(r, g, b).into(),
        opacity: NormalizedF32::new(colour.opacity.clamp(0.0, 1.0)).unwrap_or(NormalizedF32::ONE),
        rule: FillRule::NonZero,
    }
}

fn text(surface: &mut Surface<'_>, line: &Line, [x, y]: [f32; 2], colour: Colour) {
    surface.set_stroke(None);
    surface.set_fill(Some(fill(colour)));
    for run in &line.runs {
        surface.draw_glyphs(
            Point::from_xy(x + run.x, y),
            &run.glyphs,
            run.font.clone(),
            &line.text,
            line.size,
            run.outlined,
        );
    }
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, width: f32, colour: Colour) {
    let Some(path) = path else {
        return;
    };
    let Fill { paint, opacity, .. } = fill(colour);
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke {
        paint,
        width,
        miter_limit: 4.0,
        line_cap: LineCap::Butt,
        line_join: LineJoin::Round,
        opacity,
        dash: None,
    }));
    surface.draw_path(&path);
    surface.set_stroke(None);
}

fn area(surface: &mut Surface<'_>, path: Option<Path>, colour: Colour) {
    let Some(path) = path else {
        return;
    };
    surface.set_stroke(None);
    surface.set_fill(Some(fill(colour)));
    surface.draw_path(&path);
}

fn polygon(points: &[crate::geometry::Point], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    let (first, rest) = points.split_first()?;
    path.move_to(first.x as f32, first.y as f32);
    for point in rest {
        path.line_to(point.x as f32, point.y as f32);
    }
    if closed {
        path.close();
    }
    path.finish()
}

fn circle(centre: crate::geometry::Point, radius: f64) -> Option<Path> {
    let (x, y, r) = (centre.x as f32, centre.y as f32, radius as f32);
    let k = HANDLE * r;
    let mut path = PathBuilder::new();
    path.move_to(x, y - r);
    path.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    path.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    path.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    path.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    path.close();
    path.finish()
}

/// Draws shapes in the drawing's own units. Captions belong on photos and are left out.
fn shapes(surface: &mut Surface<'_>, drawing: &Drawing, setter: &mut Setter) {
    for shape in &drawing.shapes {
        match shape {
            Shape::Line {
                points,
                width,
                colour,
            } => stroke(surface, polygon(points, false), *width as f32, *colour),
            Shape::Area { points, colour } => area(surface, polygon(points, true), *colour),
            Shape::Circle {
                centre,
                radius,
                width,
                colour,
            } => match width {
                Some(width) => stroke(surface, circle(*centre, *radius), *width as f32, *colour),
                None => area(surface, circle(*centre, *radius), *colour),
            },
            Shape::Label {
                at,
                text: words,
                size,
                anchor,
                strong,
                colour,
            } => {
                let face = Face {
                    size: (SIZE_OF_LINE * size) as f32,
                    strong: *strong,
                };
                for line in setter.set(words, face, None) {
                    let before = match anchor {
                        Anchor::Start => 0.0,
                        Anchor::Middle => 0.5 * line.width,
                        Anchor::End => line.width,
                    };
                    let place = [at.x as f32 - before, at.y as f32 + TO_BASE_LINE * face.size];
                    text(surface, &line, place, *colour);
                }
            }
            Shape::Caption { .. } => {}
        }
    }
}

/// How far down the sheet an item begins.
const fn top_of(item: &Item) -> f32 {
    match item {
        Item::Text { line, y, .. } => *y - line.size,
        Item::Drawing { y, .. } | Item::Picture { y, .. } => *y,
        Item::Rule { from, .. } => from[1],
    }
}

/// The headings as bookmarks: those below the title hang on it.
fn outline(blocks: &[Block], places: &[Vec<f32>]) -> Outline {
    let mut outline = Outline::new();
    let mut title: Option<OutlineNode> = None;
    for block in blocks {
        let Block::Heading {
            level,
            title: text,
            leaves,
        } = block
        else {
            continue;
        };
        let Some(leaf) = leaves.first() else {
            continue;
        };
        let place = places
            .get(leaf.sheet)
            .and_then(|items| items.get(leaf.item));
        let at = Point::from_xy(MARGIN, place.copied().unwrap_or(0.0));
        let node = OutlineNode::new(text.clone(), XyzDestination::new(leaf.sheet, at));
        match &mut title {
            Some(above) if *level > 1 => above.push_child(node),
            _ => {
                if let Some(done) = title.replace(node) {
                    outline.push_child(done);
                }
            }
        }
    }
    if let Some(done) = title {
        outline.push_child(done);
    }
    outline
}

/// The tags of all blocks, in their order.
fn tree(blocks: &[Block], named: &mut [Vec<Option<Identifier>>]) -> Result<TagTree, ReportError> {
    let mut take = |leaf: &Leaf| {
        let item = named.get_mut(leaf.sheet)?.get_mut(leaf.item)?;
        item.take()
    };
    let mut tree = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
    for block in blocks {
        tree.push(group(block, &mut take)?);
    }
    Ok(tree)
}

fn filled(
    mut group: TagGroup,
    leaves: &[Leaf],
    take: &mut impl FnMut(&Leaf) -> Option<Identifier>,
) -> TagGroup {
    for name in leaves.iter().filter_map(take) {
        group.push(name);
    }
    group
}

fn group(
    block: &Block,
    take: &mut impl FnMut(&Leaf) -> Option<Identifier>,
) -> Result<TagGroup, ReportError> {
    Ok(match block {
        Block::Heading {
            level,
            title,
            leaves,
        } => {
            let level = NonZeroU16::new(*level).ok_or(ReportError::Format)?;
            filled(
                TagGroup::new(Tag::Hn(level, Some(title.clone()))),
                leaves,
                take,
            )
        }
        Block::Paragraph(leaves) => filled(TagGroup::new(Tag::P), leaves, take),
        Block::List(entries) => {
            let mut list = TagGroup::new(Tag::L(ListNumbering::None));
            for leaves in entries {
                let mut entry = TagGroup::new(Tag::LI);
                entry.push(filled(TagGroup::new(Tag::LBody), leaves, take));
                list.push(entry);
            }
            list
        }
        Block::Table(rows) => {
            let mut table = TagGroup::new(Tag::Table);
            for (number, row) in rows.iter().enumerate() {
                let mut tagged = TagGroup::new(Tag::TR);
                for leaves in row {
                    let cell = if number == 0 {
                        TagGroup::new(Tag::TH(TableHeaderScope::Column))
                    } else {
                        TagGroup::new(Tag::TD)
                    };
                    tagged.push(filled(cell, leaves, take));
                }
                table.push(tagged);
            }
            table
        }
        Block::Figure { says, leaves } => {
            filled(TagGroup::new(Tag::Figure(Some(says.clone()))), leaves, take)
        }
    })
}
