//! Actions that change what is looked at and keep nothing.

use crate::desktop::actions::Action;
use crate::desktop::app::App;
use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::Standing;
use crate::desktop::gallery::Look;
use crate::texts::window;
use egui::Context;

impl App {
    pub(in crate::desktop) fn look(&mut self, ctx: &Context, action: Action) {
        let count = self.sheet.animals.len();
        let animal = self.bench.animal(&self.sheet);
        let photos = animal.map_or(0, |animal| animal.photos.len());
        match action {
            Action::Next if self.bench.at + 1 < count => self.bench.look_at(self.bench.at + 1),
            Action::Previous if self.bench.at > 0 => self.bench.look_at(self.bench.at - 1),
            Action::NextPhoto if self.bench.photo + 1 < photos => self.bench.photo += 1,
            Action::PreviousPhoto => self.bench.photo = self.bench.photo.saturating_sub(1),
            Action::NextUncalled => {
                let pending = self.pending.clone();
                self.go_to(|animal| animal.is_uncalled() && !pending.contains(&animal.id));
            }
            Action::NextUnread => self.go_to(|animal| {
                matches!(
                    animal.standing(),
                    Standing::NoPhoto | Standing::Refused | Standing::Unread | Standing::Waiting
                )
            }),
            Action::NextAmbiguous => self.go_to(AnimalSheet::is_ambiguous),
            Action::PhotoOn => self.move_photo(1),
            Action::PhotoBack => self.move_photo(-1),
            other => self.change_eye(ctx, other),
        }
    }

    fn go_to(&mut self, wanted: impl Fn(&AnimalSheet) -> bool) {
        match self.sheet.next(self.bench.at, wanted) {
            Some(position) => self.bench.look_at(position),
            None => self.say(window::NO_MORE.to_owned()),
        }
    }

    /// Moves the photo in view to the animal `by` places away.
    fn move_photo(&mut self, by: isize) {
        let animal = self.bench.animal(&self.sheet);
        let photo = animal.and_then(|animal| self.bench.photo_of(animal));
        let Some(photo) = photo.map(|(_, photo)| photo.id.clone()) else {
            return;
        };
        if let Some(position) = self.bench.at.checked_add_signed(by)
            && position < self.sheet.animals.len()
        {
            self.assign(photo, position);
            self.bench.look_at(position);
        }
    }

    fn change_eye(&mut self, ctx: &Context, action: Action) {
        let per_point = ctx.pixels_per_point();
        let eye = &mut self.bench.eye;
        if let Some((area, size)) = self.bench.last {
            match action {
                Action::Nearer => eye.zoom(1.25, area.center(), area, size, per_point),
                Action::Farther => eye.zoom(0.8, area.center(), area, size, per_point),
                Action::OneToOne => eye.set_scale(1.0 / per_point, area, size),
                _ => {}
            }
        }
        let parts = &mut eye.parts;
        match action {
            Action::Whole => eye.fit(),
            Action::Lens => eye.lens = !eye.lens,
            Action::Marks => {
                let none = !(parts.bases || parts.epidermis || parts.gaps);
                (parts.bases, parts.epidermis, parts.gaps) = (none, none, none);
            }
            Action::Bases => parts.bases = !parts.bases,
            Action::Epidermis => parts.epidermis = !parts.epidermis,
            Action::Gaps => parts.gaps = !parts.gaps,
            Action::Brighter => eye.look = eye.look.changed(1, 0),
            Action::Darker => eye.look = eye.look.changed(-1, 0),
            Action::MoreContrast => eye.look = eye.look.changed(0, 1),
            Action::LessContrast => eye.look = eye.look.changed(0, -1),
            Action::AsTaken => eye.look = Look::default(),
            _ => {}
        }
    }
}
