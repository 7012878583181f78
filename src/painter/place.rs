//! Draws the sizes of an animal and of its picture, and where the blade lies in it.

use crate::geometry::Point;
use crate::painter::blade::Margin;
use crate::painter::blade::MarginForm;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::values::Values;
use crate::painter::view::View;

/// The sizes of the animal and of the picture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sizes {
    pub(crate) base_width: f64,
    pub(crate) spacing: f64,
    pub(crate) umpx: f64,
    pub(crate) width: u32,
    pub(crate) height: u32,
}

impl Sizes {
    pub(crate) fn draw(values: &Values, condition: Condition, dice: &mut Dice) -> Self {
        let mut best = Self::once(condition, dice);
        for _ in 0..200 {
            if best.fits(values) {
                break;
            }
            best = Self::once(condition, dice);
        }
        best
    }

    fn once(condition: Condition, dice: &mut Dice) -> Self {
        use Condition as C;
        let any = condition == C::Any;
        let base_width = match condition {
            C::Base12 => 12.0,
            C::Base20 => 20.0,
            C::Base40 => 40.0,
            C::Any => dice.wide_log(12.0, 40.0),
            C::Scale04 => dice.between(12.0, 18.0),
            C::Scale26 => dice.between(19.0, 36.0),
            _ => dice.between(13.0, 26.0),
        };
        let ratio = match condition {
            C::Spacing15 => 1.5,
            C::Spacing4 => 4.0,
            C::Any => dice.wide(1.5, 4.0),
            _ => dice.between(2.0, 3.2),
        };
        let umpx = match condition {
            C::Scale04 => 0.4,
            C::Scale08 => 0.8,
            C::Scale16 => 1.6,
            C::Scale26 => 2.6,
            C::Any => dice.wide_log(0.4, 2.6),
            C::Megapixels12 => dice.between(0.4, 0.7),
            C::Megapixels5 => dice.between(0.5, 1.0),
            C::Megapixels1 => dice.between(0.9, 1.6),
            C::Base40 => dice.between(1.2, 2.0),
            _ => dice.between(0.7, 1.3),
        };
        let (width, height) = match condition {
            C::Megapixels1 => (1152, 864),
            C::Megapixels5 => (2592, 1944),
            C::Megapixels12 => (4000, 3000),
            C::Scale04 => (2048, 1536),
            _ if any => dice.pick(&[
                (1152, 864),
                (1280, 960),
                (1280, 1024),
                (1600, 1200),
                (1600, 1200),
                (1600, 1200),
                (1920, 1080),
                (1200, 1600),
                (2048, 1536),
                (2592, 1944),
            ]),
            _ => (1600, 1200),
        };
        Self {
            base_width,
            spacing: base_width * ratio,
            umpx,
            width,
            height,
        }
    }

    fn short(&self) -> f64 {
        f64::from(self.width.min(self.height)) * self.umpx
    }

    /// Says whether enough bases, pixels and depth fit into the picture.
    fn fits(&self, values: &Values) -> bool {
        self.base_width / self.umpx >= 6.6
            && self.short() / self.spacing >= 8.0
            && (values.gap + 3.0) * self.base_width <= 0.42 * self.short()
    }
}

fn draw_form(values: &Values, sizes: &Sizes, condition: Condition, dice: &mut Dice) -> MarginForm {
    let short = sizes.short();
    // the epidermis must fit inside the bend
    let tightest = 1.0 / ((values.gap * 1.5 + 5.0) * sizes.base_width).max(0.3 * short);
    let kind = match condition {
        Condition::Concave => 0.95,
        Condition::Fill20 | Condition::Fill90 => dice.between(0.0, 0.6),
        Condition::Any => dice.unit(),
        _ => dice.between(0.0, 0.9),
    };
    let mut form = MarginForm {
        bend: 0.0,
        tip: 0.0,
        tip_reach: short * dice.wide(0.2, 0.6),
        wave: dice.wide(0.0, 0.25) / short,
        wave_length: short * dice.wide(0.7, 3.0),
        most_turn: 1.35,
    };
    match kind {
        k if k < 0.15 => form.bend = dice.between(-0.1, 0.2) / short,
        k if k < 0.65 => form.bend = dice.wide(0.2, 1.1) / short,
        k if k < 0.9 => {
            form.bend = dice.wide(0.1, 0.5) / short;
            form.tip = dice.wide(0.3, 1.0) * (tightest - form.bend).max(0.0);
        }
        _ => {
            form.bend = -dice.wide(0.25, 0.7) / short;
            form.most_turn = 0.7;
        }
    }
    form.bend = form.bend.min(tightest);
    form
}

/// Where the blade lies in the picture.
pub(crate) fn place(
    values: &Values,
    sizes: &Sizes,
    condition: Condition,
    dice: &mut Dice,
) -> (View, Margin) {
    let fill = match condition {
        Condition::Fill20 => 0.2,
        Condition::Fill90 => 0.9,
        Condition::Corner => 0.16,
        Condition::Any => dice.wide(0.2, 0.88),
        _ => dice.between(0.35, 0.65),
    };
    let mut last = None;
    for _ in 0..12 {
        let form = draw_form(values, sizes, condition, dice);
        let quarter = f64::from(dice.index(4) as u8) + 0.5;
        let angle = if condition == Condition::Corner {
            (quarter + dice.between(-0.2, 0.2)) * std::f64::consts::FRAC_PI_2
        } else {
            dice.between(0.0, std::f64::consts::TAU)
        };
        let mut view = View {
            width: sizes.width,
            height: sizes.height,
            umpx: sizes.umpx,
            angle,
            mirrored: dice.chance(0.5),
            centre: Point::new(0.0, 0.0),
        };
        let reach = view.diagonal() * 1.6;
        let margin = Margin::new(&form, reach, view.diagonal() / 900.0);
        let coarse = Margin::new(&form, reach, view.diagonal() / 90.0);
        view.centre.x = sizes.short() * dice.between(-0.3, 0.3);
        view.centre.y = shift_for(fill, &view, &coarse);
        let seen = bases_in(&view, &margin, sizes.spacing);
        let filled = tissue_share(&view, &coarse);
        let deep = (values.gap + 2.0) * sizes.base_width < 0.75 * depth_in(&view, &coarse);
        last = Some((view, margin));
        if seen >= 8 && (filled - fill).abs() < 0.04 && deep {
            break;
        }
    }
    last.unwrap_or_else(|| {
        let view = View {
            width: sizes.width,
            height: sizes.height,
            umpx: sizes.umpx,
            angle: 0.0,
            mirrored: false,
            centre: Point::new(0.0, 0.0),
        };
        let form = draw_form(values, sizes, condition, dice);
        let margin = Margin::new(&form, view.diagonal(), view.diagonal() / 900.0);
        (view, margin)
    })
}

fn grid(view: &View) -> impl Iterator<Item = Point> + '_ {
    let (w, h) = (f64::from(view.width), f64::from(view.height));
    (0..14).flat_map(move |row| {
        (0..18).map(move |column| {
            view.world(Point::new(
                w * (f64::from(column) + 0.5) / 18.0,
                h * (f64::from(row) + 0.5) / 14.0,
            ))
        })
    })
}

fn tissue_share(view: &View, margin: &Margin) -> f64 {
    let inside = grid(view).filter(|p| margin.locate(*p).1 > 0.0).count();
    inside as f64 / (18.0 * 14.0)
}

fn depth_in(view: &View, margin: &Margin) -> f64 {
    grid(view)
        .map(|p| margin.locate(p).1)
        .fold(f64::NEG_INFINITY, f64::max)
}

/// The inward position of the picture's middle at which the tissue covers `fill` of it.
fn shift_for(fill: f64, view: &View, margin: &Margin) -> f64 {
    let (mut low, mut high) = (-view.diagonal() * 0.7, view.diagonal() * 0.7);
    for _ in 0..14 {
        let mid = f64::midpoint(low, high);
        let mut tried = *view;
        tried.centre.y = mid;
        if tissue_share(&tried, margin) < fill {
            low = mid;
        } else {
            high = mid;
        }
    }
    f64::midpoint(low, high)
}

fn bases_in(view: &View, margin: &Margin, spacing: f64) -> usize {
    let (from, to) = margin.range();
    let count = ((to - from) / spacing) as usize;
    (0..count)
        .filter(|i| {
            let (p, _, _) = margin.frame(from + *i as f64 * spacing);
            view.holds(view.pixel(p), 4.0)
        })
        .count()
}
