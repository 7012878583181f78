//! A made-up morning at a made-up pond: 26 animals under one microscope, with the calls of a
//! made-up reader.

use crate::moult::Shell;
use crate::moult::Stage;
use crate::painter::camera::Camera;
use crate::painter::camera::Encoder;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::dirt::bubble;
use crate::painter::dirt::filament;
use crate::painter::negatives::Negative;
use crate::painter::negatives::draw_negative;
use crate::painter::population::draw_between;
use crate::painter::population::draw_out_of_step;
use crate::painter::population::draw_scene;
use crate::painter::scene::Label;
use crate::painter::scene::Scene;

/// One netted animal.
#[derive(Debug, Clone, PartialEq)]
pub struct Netted {
    /// Its name in the sample.
    pub animal: String,
    /// Where it was netted.
    pub station: &'static str,
    /// How its shell felt; `None` where nobody felt it.
    pub shell: Option<Shell>,
    /// What the made-up reader called; `None` for unread.
    pub call: Option<Stage>,
    /// Its photo.
    pub scene: Scene,
}

/// What is painted of an animal.
#[derive(Clone, Copy)]
enum Kind {
    Clear(Stage),
    OutOfStep(Stage),
    Between(Stage),
    Unreadable,
}

type Row = (Kind, Option<Stage>, Option<Shell>);

const FIRM: Option<Shell> = Some(Shell::Firm);
const SOFT: Option<Shell> = Some(Shell::Soft);
const PAPERY: Option<Shell> = Some(Shell::Papery);

/// The animals in the order of netting: what is painted, what was called, how the shell felt.
///
/// Invented as a whole. Nine lie between stages or have their criteria out of step; three calls
/// differ from what was painted; one could not be read.
const MORNING: [Row; 26] = [
    (Kind::Clear(Stage::C), Some(Stage::C), FIRM),
    (Kind::Clear(Stage::D0), Some(Stage::D0), FIRM),
    (Kind::Clear(Stage::D1), Some(Stage::D1), FIRM),
    (Kind::Between(Stage::B), Some(Stage::C), FIRM),
    (Kind::Clear(Stage::D0), Some(Stage::D0), FIRM),
    (Kind::Clear(Stage::B), Some(Stage::B), PAPERY),
    (Kind::Between(Stage::D0), Some(Stage::D0), None),
    (Kind::Clear(Stage::C), Some(Stage::C), FIRM),
    (Kind::Clear(Stage::D2), Some(Stage::D2), FIRM),
    (Kind::OutOfStep(Stage::D1), Some(Stage::D1), FIRM),
    (Kind::Clear(Stage::C), Some(Stage::C), PAPERY),
    (Kind::Clear(Stage::D0), Some(Stage::C), FIRM),
    (Kind::Unreadable, None, SOFT),
    (Kind::Clear(Stage::A), Some(Stage::A), SOFT),
    (Kind::Between(Stage::C), Some(Stage::D0), FIRM),
    (Kind::Clear(Stage::D1), Some(Stage::D2), FIRM),
    (Kind::Clear(Stage::C), Some(Stage::C), FIRM),
    (Kind::OutOfStep(Stage::D0), Some(Stage::D1), None),
    (Kind::Clear(Stage::D3), Some(Stage::D3), SOFT),
    (Kind::Clear(Stage::D0), Some(Stage::D0), FIRM),
    (Kind::OutOfStep(Stage::B), Some(Stage::B), PAPERY),
    (Kind::Between(Stage::D1), Some(Stage::D2), FIRM),
    (Kind::Clear(Stage::C), Some(Stage::C), FIRM),
    (Kind::Clear(Stage::D1), Some(Stage::D1), FIRM),
    (Kind::Between(Stage::D0), Some(Stage::D1), FIRM),
    (Kind::OutOfStep(Stage::D2), Some(Stage::D2), FIRM),
];

/// The netting stations, in turn.
const STATIONS: [&str; 3] = ["gate", "middle", "far-bank"];

/// Draws the morning of `seed`: the same microscope, light and scale for every animal.
pub fn draw_morning(seed: u64) -> Vec<Netted> {
    let mut dice = Dice::new(seed);
    let first = draw_scene(Stage::C, Condition::Scale08, dice.seed());
    MORNING
        .iter()
        .enumerate()
        .map(|(i, (kind, call, shell))| {
            let mut scene = draw_kind(*kind, dice.seed());
            let animal = format!("S{:02}", i + 1);
            scene.animal.clone_from(&animal);
            under_one_microscope(&mut scene, &first.camera);
            if i % 9 == 4 {
                let mark = if dice.chance(0.5) {
                    bubble(&scene.view, 40.0, &mut dice)
                } else {
                    filament(&scene.view, &mut dice)
                };
                scene.marks.push(mark);
            }
            Netted {
                animal,
                station: STATIONS[i * STATIONS.len() / MORNING.len()],
                shell: *shell,
                call: *call,
                scene,
            }
        })
        .collect()
}

fn draw_kind(kind: Kind, seed: u64) -> Scene {
    let condition = Condition::Scale08;
    match kind {
        Kind::Clear(stage) => (0..20)
            .map(|i| draw_scene(stage, condition, seed.wrapping_add(i)))
            .find(|scene| {
                matches!(
                    scene.label,
                    Label::Stage {
                        ambiguous: false,
                        ..
                    }
                )
            })
            .unwrap_or_else(|| draw_scene(stage, condition, seed)),
        Kind::OutOfStep(stage) => draw_out_of_step(stage, condition, seed),
        Kind::Between(stage) => draw_between(stage, condition, seed),
        Kind::Unreadable => draw_negative(Negative::BlurredTip, condition, seed),
    }
}

fn under_one_microscope(scene: &mut Scene, camera: &Camera) {
    scene.camera.light = camera.light;
    scene.camera.exposure = camera.exposure;
    scene.camera.falloff = camera.falloff;
    scene.camera.falloff_angle = camera.falloff_angle;
    scene.camera.vignette = camera.vignette;
    scene.camera.full_well = 12_000.0;
    scene.camera.read_noise = camera.read_noise;
    scene.camera.smooth_noise = camera.smooth_noise;
    scene.camera.dust.clone_from(&camera.dust);
    scene.camera.sharpen = 0.0;
    scene.camera.encoder = Encoder::Jpeg(88);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_morning_has_one_unread_animal_and_enough_doubtful_ones() {
        let morning = draw_morning(3);
        assert_eq!(morning.len(), 26);
        let unread: Vec<_> = morning.iter().filter(|n| n.call.is_none()).collect();
        assert_eq!(unread.len(), 1);
        assert!(matches!(unread[0].scene.label, Label::None(_)));
        let doubtful = morning
            .iter()
            .filter(|n| match n.scene.label {
                Label::Stage { out_of_step, .. } => out_of_step,
                Label::Between { .. } => true,
                Label::None(_) => false,
            })
            .count();
        assert!(doubtful >= 6, "{doubtful}");
        let differ = morning
            .iter()
            .filter(|n| match n.scene.label {
                Label::Stage { stage, .. } => n.call != Some(stage),
                _ => false,
            })
            .count();
        assert_eq!(differ, 3);
    }
}
