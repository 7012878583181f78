//! What a camera's program burns into its pictures.

use crate::painter::camera::Overlay;
use crate::painter::view::View;

/// Burns the overlay into coded samples.
pub(crate) fn burn(samples: &mut [u8], view: &View, overlay: Overlay) {
    let (w, h) = (view.width as usize, view.height as usize);
    match overlay {
        Overlay::None => {}
        Overlay::ScaleBar => {
            let long = [50.0, 100.0, 200.0, 500.0, 1000.0]
                .into_iter()
                .map(|um| (um / view.umpx) as usize)
                .find(|px| *px > w / 10)
                .unwrap_or(w / 8)
                .min(w / 3);
            let (x, y) = (w - w / 25 - long, h - h / 20);
            fill(samples, (w, h), (x, y), (long, (h / 150).max(3)));
            // a row of blocks stands for the figures above the bar
            let block = (h / 90).max(4);
            for i in [0, 1, 2, 4, 5] {
                let left = x + long / 3 + i * block * 3 / 2;
                fill(samples, (w, h), (left, y - block * 3), (block, block * 2));
            }
        }
        Overlay::Pointer => {
            let thick = (h / 300).max(2);
            for i in 0..w * 2 / 5 {
                fill(
                    samples,
                    (w, h),
                    (i, h / 2 + i / 6),
                    (1, thick + (w * 2 / 5 - i) / 120),
                );
            }
        }
    }
}

fn fill(
    samples: &mut [u8],
    (w, h): (usize, usize),
    (x, y): (usize, usize),
    (wide, high): (usize, usize),
) {
    for row in y..(y + high).min(h) {
        for column in x..(x + wide).min(w) {
            let at = (row * w + column) * 3;
            samples[at..at + 3].fill(18);
        }
    }
}
