//! Pictures on the screen: cut into tiles off the window's thread, laid into textures a few a
//! frame, dropped when they have not been looked at for long.

use crate::micrograph::Picture;
use crate::records::Reading;
use crate::workflow::jobs::Outbox;
use crate::workflow::jobs::Pool;
use crate::workflow::jobs::Task;
use crate::workflow::jobs::Wake;
use crate::workflow::pictures;
use crate::workflow::pictures::PictureStore;
use egui::Color32;
use egui::ColorImage;
use egui::Context;
use egui::Rect;
use egui::TextureHandle;
use egui::TextureOptions;
use egui::pos2;
use std::collections::BTreeMap;
use std::collections::VecDeque;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::mpsc;

/// Side of a tile in pixels.
const TILE: u32 = 512;
/// Pixels laid into textures in one frame at most: about two tiles, some milliseconds.
const PIXELS_A_FRAME: usize = 2 * 512 * 512 + 50_000;
/// Previews and margins kept as textures; each takes about 12 megabytes.
const MOST_LAYERS: usize = 14;
/// Tips kept as textures.
const MOST_TIPS: usize = 400;
/// Tiles of whole photos kept as textures; each takes one megabyte.
const MOST_WHOLE_TILES: usize = 60;

/// Brightness and contrast for the eye, in steps; nothing is measured with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Look {
    /// Steps brighter, -10 to 10.
    pub brightness: i8,
    /// Steps of more contrast, -10 to 10.
    pub contrast: i8,
}

impl Look {
    /// The look some steps away, within what there is.
    #[must_use]
    pub fn changed(self, brightness: i8, contrast: i8) -> Self {
        Self {
            brightness: (self.brightness + brightness).clamp(-10, 10),
            contrast: (self.contrast + contrast).clamp(-10, 10),
        }
    }

    /// What each coded value becomes.
    fn table(self) -> [u8; 256] {
        let gain = 1.25_f32.powi(i32::from(self.contrast));
        let shift = 12.0 * f32::from(self.brightness);
        std::array::from_fn(|code| {
            let value = (code as f32 - 128.0) * gain + 128.0 + shift;
            value.round().clamp(0.0, 255.0) as u8
        })
    }
}

/// Which picture.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The small one of the tray.
    Tip,
    /// The preview.
    Preview,
    /// The straightened margin of a reading, by its name.
    Margin(String),
    /// Tiles of the whole photo, from column and row on.
    Whole,
}

/// A picture of a photo as it is looked at.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LayerKey {
    /// Hash of the photo.
    pub hash: String,
    /// Which picture.
    pub subject: Subject,
    /// How it looks.
    pub look: Look,
}

/// A picture that is wanted.
#[derive(Clone)]
pub struct Wanted {
    /// Which.
    pub key: LayerKey,
    /// The photo.
    pub path: PathBuf,
    /// The reading whose margin it is.
    pub reading: Option<Arc<Reading>>,
    /// Column and row of the tiles, for whole photos.
    pub tiles: Vec<(u32, u32)>,
}

impl Task for Wanted {
    type Key = (LayerKey, Vec<(u32, u32)>);

    fn key(&self) -> Self::Key {
        (self.key.clone(), self.tiles.clone())
    }
}

/// A tile before it is a texture.
struct Cut {
    at: (u32, u32),
    image: ColorImage,
    /// The part of the photo it shows, in its pixels, and the part of the texture that shows it.
    inner: Rect,
    uv: Rect,
}

/// What a worker hands over.
struct Made {
    key: LayerKey,
    wanted: Vec<(u32, u32)>,
    size: [u32; 2],
    cuts: Vec<Cut>,
}

/// A tile as a texture.
pub struct Tile {
    /// The texture.
    pub texture: TextureHandle,
    /// The part of the picture it shows, in pixels of that picture.
    pub inner: Rect,
    /// The part of the texture that shows it.
    pub uv: Rect,
    used: u64,
}

/// A picture as far as its tiles are there.
#[derive(Default)]
pub struct Layer {
    /// Width and height of the picture in pixels.
    pub size: [u32; 2],
    /// Its tiles by column and row.
    pub tiles: BTreeMap<(u32, u32), Tile>,
    /// Tiles that are cut but not laid into textures yet.
    coming: usize,
    used: u64,
    failed: bool,
}

impl Layer {
    /// Whether every tile of it is there.
    pub fn complete(&self) -> bool {
        self.coming == 0 && !self.tiles.is_empty()
    }
}

/// All pictures that are, or shortly will be, on the screen.
pub struct Gallery {
    pool: Pool<Wanted>,
    made: mpsc::Receiver<Made>,
    layers: BTreeMap<LayerKey, Layer>,
    waiting: VecDeque<(LayerKey, Cut)>,
    wanted: Vec<Wanted>,
    frame: u64,
}

impl Gallery {
    /// An empty gallery whose pictures come from `store`.
    ///
    /// # Errors
    /// What the system said when it has no thread to give.
    pub fn new(store: PictureStore, wake: Wake) -> io::Result<Self> {
        let (outbox, made) = Outbox::new(wake);
        let whole = WholePhoto::default();
        let pool = Pool::start(
            "pictures",
            1,
            &outbox,
            move |wanted: &Wanted| make(wanted, &store, &whole),
            |wanted: &Wanted| Made::nothing(wanted),
        )?;
        Ok(Self {
            pool,
            made,
            layers: BTreeMap::new(),
            waiting: VecDeque::new(),
            wanted: Vec::new(),
            frame: 0,
        })
    }

    /// Begins a frame: lays some of what was made into textures and drops what was not used.
    pub fn begin(&mut self, ctx: &Context) {
        self.frame += 1;
        for made in self.made.try_iter() {
            let layer = self.layers.entry(made.key.clone()).or_default();
            layer.size = made.size;
            layer.failed = made.cuts.is_empty();
            layer.used = self.frame;
            layer.coming += made.cuts.len();
            let cuts = made.cuts.into_iter().map(|cut| (made.key.clone(), cut));
            // Whole-photo tiles are asked for by who looks; others come first.
            if made.wanted.is_empty() {
                for cut in cuts.rev() {
                    self.waiting.push_front(cut);
                }
            } else {
                self.waiting.extend(cuts);
            }
        }
        let mut left = PIXELS_A_FRAME;
        while let Some((_, cut)) = self.waiting.front() {
            let pixels = cut.image.pixels.len();
            if pixels > left && left < PIXELS_A_FRAME {
                break;
            }
            left = left.saturating_sub(pixels);
            if let Some((key, cut)) = self.waiting.pop_front() {
                self.lay(ctx, &key, cut);
            }
        }
        if !self.waiting.is_empty() {
            ctx.request_repaint();
        }
        self.drop_unused();
        self.wanted.clear();
    }

    fn lay(&mut self, ctx: &Context, key: &LayerKey, cut: Cut) {
        let Some(layer) = self.layers.get_mut(key) else {
            return;
        };
        let texture = ctx.load_texture("photo", cut.image, TextureOptions::LINEAR);
        layer.coming = layer.coming.saturating_sub(1);
        layer.tiles.insert(
            cut.at,
            Tile {
                texture,
                inner: cut.inner,
                uv: cut.uv,
                used: self.frame,
            },
        );
    }

    /// Ends a frame: what was asked for and is not there is made, in the order of the asking.
    pub fn end(&mut self) {
        self.pool.order(std::mem::take(&mut self.wanted));
    }

    /// The picture, as far as it is there; what is missing is made.
    pub fn ask(&mut self, wanted: &Wanted) -> Option<&Layer> {
        let frame = self.frame;
        let there = self.layers.get_mut(&wanted.key);
        let missing = match &there {
            None => true,
            Some(layer) => {
                wanted.key.subject == Subject::Whole && !layer.failed && !wanted.tiles.is_empty()
            }
        };
        if missing {
            self.wanted.push(wanted.clone());
        }
        let layer = self.layers.get_mut(&wanted.key)?;
        layer.used = frame;
        Some(layer)
    }

    /// Tiles of a whole photo that are to be shown and are not there.
    pub fn missing(&mut self, key: &LayerKey, tiles: &[(u32, u32)]) -> Vec<(u32, u32)> {
        let coming: Vec<(u32, u32)> = self
            .waiting
            .iter()
            .filter(|(own, _)| own == key)
            .map(|(_, cut)| cut.at)
            .collect();
        let frame = self.frame;
        let mut missing = Vec::new();
        let mut layer = self.layers.get_mut(key);
        for at in tiles {
            match layer.as_mut().and_then(|layer| layer.tiles.get_mut(at)) {
                Some(tile) => tile.used = frame,
                None if coming.contains(at) => {}
                None => missing.push(*at),
            }
        }
        missing
    }

    /// The picture if it is there, without asking for it.
    pub fn there(&self, key: &LayerKey) -> Option<&Layer> {
        self.layers.get(key)
    }

    /// Pictures that wait to be made or to be laid into textures.
    pub fn busy(&self) -> bool {
        self.pool.load() != (0, 0) || !self.waiting.is_empty()
    }

    /// Pixels that textures hold.
    pub fn pixels(&self) -> usize {
        let tiles = self.layers.values().flat_map(|layer| layer.tiles.values());
        tiles
            .map(|tile| tile.texture.size().iter().product::<usize>())
            .sum()
    }

    fn drop_unused(&mut self) {
        let is_tip = |key: &LayerKey| key.subject == Subject::Tip;
        for (tips, most) in [(true, MOST_TIPS), (false, MOST_LAYERS)] {
            let mut by_use: Vec<(u64, LayerKey)> = self
                .layers
                .iter()
                .filter(|(key, _)| is_tip(key) == tips && key.subject != Subject::Whole)
                .map(|(key, layer)| (layer.used, key.clone()))
                .collect();
            if by_use.len() > most {
                by_use.sort();
                let surplus = by_use.len() - most;
                for (_, key) in by_use.into_iter().take(surplus) {
                    self.layers.remove(&key);
                    self.waiting.retain(|(own, _)| *own != key);
                }
            }
        }
        let whole = self
            .layers
            .iter()
            .filter(|(key, _)| key.subject == Subject::Whole);
        let mut tiles: Vec<(u64, LayerKey, (u32, u32))> = whole
            .flat_map(|(key, layer)| {
                layer
                    .tiles
                    .iter()
                    .map(|(at, tile)| (tile.used, key.clone(), *at))
            })
            .collect();
        if tiles.len() > MOST_WHOLE_TILES {
            tiles.sort();
            let surplus = tiles.len() - MOST_WHOLE_TILES;
            for (_, key, at) in tiles.into_iter().take(surplus) {
                if let Some(layer) = self.layers.get_mut(&key) {
                    layer.tiles.remove(&at);
                }
            }
        }
    }
}

impl Made {
    fn nothing(wanted: &Wanted) -> Self {
        Self {
            key: wanted.key.clone(),
            wanted: wanted.tiles.clone(),
            size: [0, 0],
            cuts: Vec::new(),
        }
    }
}

/// The photo that was decoded last: who pans over it asks for one tile after the other.
#[derive(Default)]
struct WholePhoto {
    last: Mutex<Option<(String, Arc<Picture>)>>,
}

impl WholePhoto {
    fn of(&self, wanted: &Wanted) -> Option<Arc<Picture>> {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((hash, picture)) = last.as_ref()
            && *hash == wanted.key.hash
        {
            return Some(Arc::clone(picture));
        }
        *last = None;
        let picture = Arc::new(pictures::whole(&wanted.path).ok()?);
        *last = Some((wanted.key.hash.clone(), Arc::clone(&picture)));
        Some(picture)
    }
}

/// Makes the tiles of a picture; none when the photo cannot be decoded.
fn make(wanted: &Wanted, store: &PictureStore, whole: &WholePhoto) -> Made {
    let (path, hash) = (&wanted.path, &wanted.key.hash);
    let picture = match &wanted.key.subject {
        Subject::Tip => pictures::tip(path, hash, store).ok().map(Arc::new),
        Subject::Preview => pictures::preview(path, hash, store).ok().map(Arc::new),
        Subject::Margin(_) => wanted.reading.as_ref().and_then(|reading| {
            pictures::straightened(path, hash, reading, store)
                .ok()
                .flatten()
                .map(Arc::new)
        }),
        Subject::Whole => whole.of(wanted),
    };
    let Some(picture) = picture else {
        return Made::nothing(wanted);
    };
    let (width, height) = picture.dimensions();
    let all = || {
        let columns = width.div_ceil(TILE);
        (0..height.div_ceil(TILE))
            .flat_map(move |row| (0..columns).map(move |column| (column, row)))
    };
    let at: Vec<(u32, u32)> = if wanted.key.subject == Subject::Whole {
        wanted.tiles.clone()
    } else {
        all().collect()
    };
    let table = wanted.key.look.table();
    Made {
        key: wanted.key.clone(),
        wanted: wanted.tiles.clone(),
        size: [width, height],
        cuts: at
            .into_iter()
            .filter_map(|at| cut(&picture, at, &table))
            .collect(),
    }
}

/// Cuts a tile with a rim of one pixel, so that neighbours meet without a seam.
fn cut(picture: &Picture, at: (u32, u32), table: &[u8; 256]) -> Option<Cut> {
    let (width, height) = picture.dimensions();
    let (left, top) = (at.0 * TILE, at.1 * TILE);
    if left >= width || top >= height {
        return None;
    }
    let (right, bottom) = ((left + TILE).min(width), (top + TILE).min(height));
    let (from_x, from_y) = (left.saturating_sub(1), top.saturating_sub(1));
    let (to_x, to_y) = ((right + 1).min(width), (bottom + 1).min(height));
    let (w, h) = (to_x - from_x, to_y - from_y);
    let mut pixels = Vec::with_capacity((w * h) as usize);
    let raw = picture.as_raw();
    for y in from_y..to_y {
        let start = 3 * (y as usize * width as usize + from_x as usize);
        let row = raw.get(start..start + 3 * w as usize)?;
        let of = |code: u8| table[usize::from(code)];
        pixels.extend(
            row.chunks_exact(3)
                .map(|p| Color32::from_rgb(of(p[0]), of(p[1]), of(p[2]))),
        );
    }
    let point = |x: u32, y: u32| pos2(x as f32, y as f32);
    let uv = |x: u32, y: u32| {
        pos2(
            (x - from_x) as f32 / w as f32,
            (y - from_y) as f32 / h as f32,
        )
    };
    Some(Cut {
        at,
        image: ColorImage::new([w as usize, h as usize], pixels),
        inner: Rect::from_min_max(point(left, top), point(right, bottom)),
        uv: Rect::from_min_max(uv(left, top), uv(right, bottom)),
    })
}

/// Columns and rows of the tiles that a part of a picture needs, from its middle outwards.
pub fn tiles_of(part: Rect, size: [u32; 2]) -> Vec<(u32, u32)> {
    let side = |from: f32, to: f32, length: u32| {
        let last = length.saturating_sub(1) / TILE;
        let first = (from.max(0.0) as u32 / TILE).min(last);
        let end = (to.max(0.0) as u32 / TILE).min(last);
        first..=end
    };
    let columns = side(part.min.x, part.max.x, size[0]);
    let mut tiles: Vec<(u32, u32)> = side(part.min.y, part.max.y, size[1])
        .flat_map(|row| columns.clone().map(move |column| (column, row)))
        .collect();
    let middle = part.center();
    tiles.sort_by_key(|(column, row)| {
        let half = TILE as f32 / 2.0;
        let centre = pos2((column * TILE) as f32 + half, (row * TILE) as f32 + half);
        centre.distance(middle) as i64
    });
    tiles
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_cover_a_part_from_its_middle_and_stay_in_the_picture() {
        let part = Rect::from_min_max(pos2(600.0, -50.0), pos2(1700.0, 500.0));
        let tiles = tiles_of(part, [4000, 3000]);
        assert_eq!(tiles[0], (2, 0));
        assert_eq!(tiles.len(), 3);
        let beyond = Rect::from_min_max(pos2(3900.0, 2900.0), pos2(9000.0, 9000.0));
        assert_eq!(tiles_of(beyond, [4000, 3000]), [(7, 5)]);
    }

    #[test]
    fn a_tile_shows_its_part_and_a_rim() {
        let picture = Picture::from_fn(1000, 700, |x, y| {
            let code = ((x / 4 + y / 4) % 256) as u8;
            [code, code, code].into()
        });
        let table = Look::default().table();
        let tile = cut(&picture, (1, 1), &table).unwrap();
        assert_eq!(
            tile.inner,
            Rect::from_min_max(pos2(512.0, 512.0), pos2(1000.0, 700.0))
        );
        assert_eq!(tile.image.size, [489, 189]);
        assert!((tile.uv.min.x * 489.0 - 1.0).abs() < 1e-3);
        assert_eq!(tile.image.pixels[0].r(), picture.get_pixel(511, 511).0[0]);
        assert!(cut(&picture, (2, 0), &table).is_none());
    }

    #[test]
    fn the_look_as_taken_changes_nothing_and_others_keep_their_order() {
        let plain = Look::default().table();
        assert!((0..=255_u8).all(|code| plain[usize::from(code)] == code));
        let bright = Look::default().changed(3, 0).table();
        assert!((0..256).all(|code| bright[code] >= plain[code]));
        assert_eq!(
            Look::default().changed(40, -40),
            Look {
                brightness: 10,
                contrast: -10
            }
        );
    }
}
