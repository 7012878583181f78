//! The window.
//!
//! Cut by phase: [`app`] holds the state, collects what the background has done (`logic`), draws
//! (`ui`) and acts (`acting`, the only place that does). Views in [`places`] show values and return
//! [`deeds::Deed`]s. What is kept goes through a clerk ([`keeper`]) in a thread of its own; reading and
//! pictures have pools; so no frame ever waits.

pub mod actions;

pub mod app;

pub mod correcting;

pub mod deeds;

pub mod desk;

pub mod dialogs;

pub mod gallery;

pub mod keeper;

pub mod photo_view;

pub mod places;

pub mod render;

pub mod room;

pub mod theme;

pub mod training;

pub mod work;

use crate::desktop::app::App;
use crate::desktop::app::Keeping;
use crate::texts::window;
use crate::workflow::jobs::Wake;
use crate::workflow::opening::Opening;
use std::sync::Arc;
use thiserror::Error;

/// Why there is no window.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum WindowError {
    /// There is no display.
    #[error("{}", window::NO_DISPLAY)]
    NoDisplay,
    /// The system does not open one.
    #[error("{}", window::no_window(.0))]
    Refused(String),
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`WindowError`] when there is no display or the system opens no window on it.
pub fn run(opening: Opening) -> Result<(), WindowError> {
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title(window::TITLE)
            .with_app_id("tailfan")
            .with_inner_size([1280.0, 820.0])
            .with_min_inner_size([640.0, 420.0])
            .with_drag_and_drop(true),
        ..eframe::NativeOptions::default()
    };
    let opened = eframe::run_native(
        "tailfan",
        options,
        Box::new(move |creation| {
            let ctx = creation.egui_ctx.clone();
            let wake: Wake = Arc::new(move || ctx.request_repaint());
            let app = App::new(&creation.egui_ctx, opening, Keeping::of_user(), wake)?;
            Ok(Box::new(Window(app)))
        }),
    );
    match opened {
        Ok(()) => Ok(()),
        Err(eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_)) => {
            Err(WindowError::NoDisplay)
        }
        Err(other) => Err(WindowError::Refused(other.to_string())),
    }
}

/// The application as the toolkit wants it.
struct Window(App);

impl eframe::App for Window {
    fn logic(&mut self, ctx: &egui::Context, _: &mut eframe::Frame) {
        self.0.logic(ctx);
    }

    fn ui(&mut self, ui: &mut egui::Ui, _: &mut eframe::Frame) {
        self.0.ui(ui);
    }

    fn on_exit(&mut self, _: Option<&eframe::glow::Context>) {
        self.0.leave();
    }
}
