//! The place where the calls are counted: the moult ring, the table with intervals, the verdict.

use crate::cycle::arcs::StageArcs;
use crate::cycle::species::Species;
use crate::desktop::actions::Action;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::SampleSheet;
use crate::desktop::places::action_button;
use crate::desktop::places::side::notice;
use crate::desktop::render;
use crate::desktop::theme;
use crate::drawing::ring::ring;
use crate::moult::Stage;
use crate::tally::LimitTally;
use crate::tally::Tally;
use crate::tally::Tested;
use crate::texts;
use crate::texts::window;
use crate::workflow::logbook::counting::Counted;
use crate::workflow::logbook::farm::FarmLimits;
use egui::Grid;
use egui::RichText;
use egui::ScrollArea;
use egui::Ui;
use egui::vec2;

/// Shows the place.
pub fn show(
    ui: &mut Ui,
    sample: &SampleSheet,
    counted: Option<&Counted>,
    limits: &FarmLimits,
) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let Some(counted) = counted.filter(|counted| counted.tally.animals > 0) else {
        ui.centered_and_justified(|ui| ui.label(window::NOTHING_COUNTED));
        return deeds;
    };
    let tally = &counted.tally;
    let species: Option<Species> = sample.species.as_deref().and_then(|name| name.parse().ok());
    let arcs = species.map_or_else(StageArcs::published, Species::arcs);
    let wide = ui.available_width() > 760.0;
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_space(6.0);
        ui.horizontal_wrapped(|ui| {
            ui.heading(texts::tally::answer(tally.at_netting));
            ui.label(texts::tally::netted(tally));
            for action in [
                Action::SaveTable,
                Action::SavePage,
                Action::Go(crate::desktop::actions::Place::Forecast),
            ] {
                if action_button(ui, action).clicked() {
                    deeds.push(Deed::Do(action));
                }
            }
        });
        if sample.made_up {
            notice(ui, window::MADE_UP);
        }
        let rivals = sample.animals.iter().filter(|of| !of.rivals.is_empty());
        let rivals = rivals.count();
        if rivals > 0 {
            notice(ui, &window::rivals_in_sample(rivals));
        }
        if limits.rigid_after_days.is_some() && counted.settings.rigid_after.is_none() {
            notice(ui, window::RIGID_NOT_USED);
        }
        let side = if wide {
            (0.42 * ui.available_width())
                .min(ui.available_height())
                .clamp(300.0, 620.0)
        } else {
            ui.available_width().min(440.0)
        };
        let scheme = theme::scheme(ui.visuals().dark_mode);
        let drawing = ring(tally, &arcs, scheme);
        let words = ring_in_words(tally);
        if wide {
            ui.horizontal_top(|ui| {
                ui.vertical(|ui| render::show(ui, &drawing, vec2(side, side), &words));
                ui.vertical(|ui| tables(ui, tally));
            });
        } else {
            render::show(ui, &drawing, vec2(side, side), &words);
            tables(ui, tally);
        }
        ui.add_space(4.0);
        for sentence in texts::tally::sentences(tally) {
            ui.label(sentence);
        }
        ui.label(texts::cautions::VERDICT);
        ui.weak(&sample.tested);
    });
    deeds
}

fn ring_in_words(tally: &Tally) -> String {
    let called: Vec<String> = tally
        .counts
        .iter()
        .filter(|(_, count)| **count > 0)
        .map(|(stage, count)| window::stage_count(*stage, *count))
        .collect();
    window::ring(&called.join(", "), tally.unread)
}

fn tables(ui: &mut Ui, tally: &Tally) {
    groups(ui, tally);
    ui.add_space(10.0);
    stages(ui, tally);
}

/// The groups against their limits.
fn groups(ui: &mut Ui, tally: &Tally) {
    let named: Vec<(&str, &LimitTally)> = [
        (window::MOULTING, Some(&tally.moulting)),
        (window::SOFT, Some(&tally.soft)),
        (window::DUE, Some(&tally.due)),
        (window::SOFT_IN_HAND, tally.soft_in_hand.as_ref()),
    ]
    .into_iter()
    .filter_map(|(name, group)| Some((name, group?)))
    .collect();
    Grid::new("groups")
        .num_columns(5)
        .striped(true)
        .spacing([14.0, 4.0])
        .show(ui, |ui| {
            for heading in window::GROUP_COLUMNS {
                ui.strong(heading);
            }
            ui.end_row();
            for (name, group) in named {
                ui.label(name);
                ui.label(window::count_of(group.count, group.of, group.share));
                ui.label(window::interval(group.low, group.high));
                ui.label(window::below(group.limit));
                ui.label(match group.tested {
                    Tested::Within => window::TESTED[0],
                    Tested::Open => window::TESTED[1],
                    Tested::Over => window::TESTED[2],
                });
                ui.end_row();
            }
        });
}

/// The stages with their intervals.
fn stages(ui: &mut Ui, tally: &Tally) {
    let dark = ui.visuals().dark_mode;
    ui.weak(window::intervals(&tally.intervals));
    Grid::new("stages")
        .num_columns(4)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for heading in window::STAGE_COLUMNS {
                ui.strong(heading);
            }
            ui.end_row();
            for stage in Stage::ALL {
                let count = tally.counts.get(&stage).copied().unwrap_or(0);
                let code = RichText::new(window::padded(stage))
                    .color(theme::words_on(stage))
                    .background_color(theme::stage(stage, dark));
                ui.label(code);
                ui.label(count.to_string());
                if let Some(share) = tally.shares.get(&stage) {
                    ui.label(window::share(share.share));
                    ui.label(window::interval(share.low, share.high));
                }
                ui.end_row();
            }
        });
    ui.label(window::unread_beside(tally.unread));
}
