//! What is drawn: the places on top, one of them below, what was said at the foot.

use crate::desktop::actions;
use crate::desktop::actions::Action;
use crate::desktop::actions::Place;
use crate::desktop::app::App;
use crate::desktop::app::FARM;
use crate::desktop::app::TRAIN;
use crate::desktop::app::blind::SLIDES;
use crate::desktop::deeds::Deed;
use crate::desktop::dialogs;
use crate::desktop::dialogs::Seen;
use crate::desktop::places::action_button;
use crate::desktop::places::forecast;
use crate::desktop::places::key_name;
use crate::desktop::places::ponds;
use crate::desktop::places::slides;
use crate::desktop::places::slides::Hands;
use crate::desktop::places::tally;
use crate::desktop::theme;
use crate::texts::window;
use egui::Align;
use egui::Button;
use egui::CentralPanel;
use egui::Layout;
use egui::Margin;
use egui::Panel;
use egui::ProgressBar;
use egui::RichText;
use egui::Ui;
use std::sync::Arc;

impl App {
    /// Draws a frame and does what was asked for in it.
    pub fn ui(&mut self, ui: &mut Ui) {
        self.work.begin();
        let ctx = ui.ctx().clone();
        self.gallery.begin(&ctx);
        let later = std::mem::take(&mut self.pressed_later);
        ctx.input_mut(|input| {
            input.events.splice(0..0, later);
        });
        let pressed = actions::pressed(&ctx, self.place, self.dialog.is_some());
        self.pressed_later = pressed.later;
        self.deeds.extend(pressed.actions.into_iter().map(Deed::Do));
        self.act(&ctx);
        Panel::top("places").show(ui, |ui| self.top(ui));
        Panel::bottom("foot").show(ui, |ui| self.foot(ui));
        let sheet = Arc::clone(&self.sheet);
        let margin = if self.place == Place::Slides {
            Margin::ZERO
        } else {
            Margin::symmetric(12, 4)
        };
        CentralPanel::default()
            .frame(egui::Frame::central_panel(ui.style()).inner_margin(margin))
            .show(ui, |ui| {
                let deeds = match self.place {
                    Place::Slides => {
                        let mut hands = Hands {
                            clicks: &mut self.clicks,
                            correcting: &mut self.correcting,
                        };
                        slides::show(ui, &mut self.bench, &sheet, &mut self.gallery, &mut hands)
                    }
                    Place::Tally => {
                        tally::show(ui, &sheet, self.counted.as_deref(), &self.farm.limits)
                    }
                    Place::Forecast => forecast::show(ui, &mut self.outlook, &sheet),
                    Place::Ponds => {
                        ponds::show(ui, &self.farm, &sheet, &mut self.search, &self.found)
                    }
                    Place::Training => self.training_ui(ui),
                };
                self.deeds.extend(deeds);
            });
        if let Some(mut dialog) = self.dialog.take() {
            let seen = Seen {
                farm: &self.farm,
                sample: &sheet,
                counted: self.counted.as_deref(),
            };
            let (deeds, close) = dialogs::show(&ctx, &mut dialog, seen);
            self.deeds.extend(deeds);
            if !close {
                self.dialog = Some(dialog);
            }
        }
        self.act(&ctx);
        self.offer_tally();
        self.gallery.end();
        self.work.end(true);
    }

    fn top(&mut self, ui: &mut Ui) {
        ui.add_space(3.0);
        ui.horizontal(|ui| {
            for place in Place::ALL {
                let words = place.words();
                let chosen = place == self.place;
                let name = RichText::new(words.name).size(16.0);
                let name = if chosen { name.strong() } else { name };
                let entry = Action::Go(place).entry();
                let key = entry.map(|entry| key_name(ui.ctx(), entry));
                let hint = window::hint_with_key(words.hint, &key.unwrap_or_default());
                let button = Button::selectable(chosen, name);
                if ui.add(button).on_hover_text(hint).clicked() {
                    self.deeds.push(Deed::Do(Action::Go(place)));
                }
            }
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let entry = Action::Find.entry();
                let key = entry.map(|entry| key_name(ui.ctx(), entry));
                let button = Button::new(window::LIST_OF_ACTIONS);
                let button = button.shortcut_text(key.unwrap_or_default());
                if ui.add(button).clicked() {
                    self.deeds.push(Deed::Do(Action::Find));
                }
            });
        });
        let sheet = &self.sheet;
        if !sheet.animals.is_empty() {
            let (done, all) = sheet.done();
            ui.horizontal_wrapped(|ui| {
                ui.label(window::sample_sentence(
                    [&sheet.pond, &sheet.netted],
                    all,
                    sheet.weight_g,
                    sheet.water_c,
                ));
                ui.weak(window::calls(done, all));
            });
        }
        ui.add_space(2.0);
    }

    /// What was said last, what runs, and how to stop it.
    fn foot(&mut self, ui: &mut Ui) {
        let ink = theme::ink(ui.visuals().dark_mode);
        ui.horizontal(|ui| {
            let mut runs = false;
            for (name, (done, total)) in self.jobs.running() {
                let words = match name {
                    FARM => window::painting(done, total),
                    SLIDES => window::slides_step(done, total),
                    TRAIN if self.place != Place::Training || !self.school.shown => {
                        window::training_step(done, total)
                    }
                    _ => continue,
                };
                runs = true;
                let part = done as f32 / total.max(1) as f32;
                ui.add(ProgressBar::new(part).desired_width(200.0).text(words));
            }
            if runs && action_button(ui, Action::StopReading).clicked() {
                self.deeds.push(Deed::Do(Action::StopReading));
            }
            let waiting = self.sheet.unread_from(0).len();
            if waiting > 0 {
                let photos = self.sheet.animals.iter().map(|animal| animal.photos.len());
                let all: usize = photos.sum();
                ui.label(window::reading(all - waiting, all));
                let action = if self.paused {
                    Action::ReadWhatIsLeft
                } else {
                    Action::StopReading
                };
                let offered = runs && action == Action::StopReading;
                if !offered && action_button(ui, action).clicked() {
                    self.deeds.push(Deed::Do(action));
                }
            }
            if let Some(folder) = &self.watched {
                ui.weak(window::watching(folder));
            }
            if let Some(said) = &self.said {
                let mut words = RichText::new(&said.words);
                if said.trouble {
                    words = words.color(ink.notice).background_color(ink.notice_ground);
                }
                ui.label(words);
            } else {
                ui.label("");
            }
        });
    }
}
