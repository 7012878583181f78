//! The maker of synthetic micrographs of uropod tips, with known truth.
//!
//! A [`Scene`] says in plain numbers what is there; [`paint`] turns it into a picture: layers
//! of optical density over a light field, blur, sensor, colour coding. The same scene gives the same
//! bytes on every machine. Nothing here is shared with the code that reads pictures.

pub mod blade;

pub mod camera;

pub mod condition;

mod dice;

pub mod ink;

mod dirt;

mod looks;

mod microscope;

pub mod morning;

pub mod negatives;

mod noise;

mod optics;

mod overlay;

pub mod plain;

mod place;

mod plane;

pub mod population;

mod row;

pub mod scene;

mod setae;

mod tissue;

pub mod truth;

pub mod values;

pub mod view;

use crate::geometry::Point;
use crate::micrograph::Picture;
use crate::painter::blade::Locator;
use crate::painter::ink::Band;
use crate::painter::scene::Scene;
use crate::painter::scene::Tip;
use crate::painter::tissue::Sheet;
use crate::painter::truth::Truth;
use rayon::prelude::*;

/// A picture and what is true of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Painted {
    /// The picture as the camera gives it, before the file's encoder.
    pub picture: Picture,
    /// The truth, with an empty file name.
    pub truth: Truth,
}

/// Paints a scene.
pub fn paint(scene: &Scene) -> Painted {
    let view = &scene.view;
    let mut light = optical_density(scene);
    optics::expose(&mut light, view, &scene.camera);
    optics::blur(&mut light, view, &scene.camera);
    optics::sense(&mut light, view, &scene.camera);
    let mut samples = optics::encode(&light, view, &scene.camera);
    overlay::burn(&mut samples, view, scene.camera.overlay);
    let picture = Picture::from_raw(view.width, view.height, samples)
        .unwrap_or_else(|| Picture::new(view.width, view.height));
    Painted {
        picture,
        truth: Truth::of(scene, ""),
    }
}

/// Rows that are painted as one piece.
const BAND_ROWS: usize = 48;

/// The optical density of everything on the slide, three channels per pixel, row by row.
pub fn optical_density(scene: &Scene) -> Vec<f32> {
    let view = &scene.view;
    let width = view.width as usize;
    let mut ink = vec![0.0_f32; width * view.height as usize * 3];
    let sheet = scene.tip.as_ref().map(|tip| {
        (
            tip,
            Locator::new(&tip.margin, view),
            Sheet::new(tip, view.umpx),
        )
    });
    ink.par_chunks_mut(width * 3 * BAND_ROWS)
        .enumerate()
        .for_each(|(i, rows)| {
            let mut band = Band {
                view,
                ground: view.ground(),
                first: i * BAND_ROWS,
                ink: rows,
            };
            if let Some((tip, locator, sheet)) = &sheet {
                lay_sheets(&mut band, locator, sheet);
                lay_setae(&mut band, tip);
            }
            for mark in &scene.marks {
                band.mark(mark);
            }
        });
    ink
}

fn lay_sheets(band: &mut Band<'_>, locator: &Locator<'_>, sheet: &Sheet<'_>) {
    let width = band.view.width as usize;
    let first = band.first;
    let ground = band.ground;
    for (row, samples) in band.ink.chunks_exact_mut(width * 3).enumerate() {
        for (x, pixel) in samples.chunks_exact_mut(3).enumerate() {
            let p = ground.world(Point::new(x as f64, (first + row) as f64));
            let (s, t) = locator.locate(x, first + row, p);
            let density = sheet.density(p, s, t);
            for (sample, od) in pixel.iter_mut().zip(density) {
                *sample += od as f32;
            }
        }
    }
}

fn lay_setae(band: &mut Band<'_>, tip: &Tip) {
    for seta in &tip.setae {
        setae::paint_new_seta(band, tip, seta);
    }
    for seta in &tip.setae {
        setae::paint_seta(band, tip, seta);
    }
}

#[cfg(test)]
mod tests;
