//! Everything a person can do, as one flat list: name, hint, key and where the key works.

use crate::moult::Shell;
use crate::moult::Stage;
use crate::texts::actions as words;
use crate::texts::actions::Words;
use egui::Key;
use egui::KeyboardShortcut;
use egui::Modifiers;

/// The places of the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The photos of the sample in hand.
    Slides,
    /// The calls, counted.
    Tally,
    /// The tally carried forward.
    Forecast,
    /// All samples of all ponds.
    Ponds,
    /// Labelled slides.
    Training,
}

impl Place {
    /// The places in their order.
    pub const ALL: [Self; 5] = [
        Self::Slides,
        Self::Tally,
        Self::Forecast,
        Self::Ponds,
        Self::Training,
    ];

    /// Its name and what it is for.
    pub const fn words(self) -> Words {
        words::PLACES[self as usize]
    }
}

/// Something a person can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the words of each are in texts::actions")]
pub enum Action {
    Go(Place),
    Find,
    Undo,
    Redo,
    Close,
    NewSample,
    EditSample,
    OpenLogbook,
    NewLogbook,
    MadeUpFarm,
    AddPhotos,
    AddFolder,
    Watch,
    StopReading,
    ReadWhatIsLeft,
    Settings,
    LightOrDark,
    Larger,
    Smaller,
    UsualSize,
    CountByEye,
    Scales,
    SaveTable,
    SavePage,
    MergeLogbook,
    Agree,
    Call(Stage),
    Next,
    Previous,
    NextPhoto,
    PreviousPhoto,
    NextUncalled,
    NextUnread,
    NextAmbiguous,
    Refuse,
    Withdraw,
    SecondReader,
    Note,
    Shell(Option<Shell>),
    PhotoOn,
    PhotoBack,
    Nearer,
    Farther,
    Whole,
    OneToOne,
    Lens,
    Marks,
    Bases,
    Epidermis,
    Gaps,
    Brighter,
    Darker,
    MoreContrast,
    LessContrast,
    AsTaken,
    Correct,
    DrawGap,
    Warmer,
    Cooler,
    DrainLater,
    DrainEarlier,
    Worth,
    Search,
    Outcome,
    SampleBefore,
    SampleAfter,
    SecondHere,
    SecondSend,
    SecondOpen,
    SecondTake,
    Settle,
    Practise,
    PractisePainted,
    Standard,
    BlindCall(Stage),
    BlindUnread,
    BlindBack,
    BlindOn,
    LabelsOrReaders,
    LabelAnimal,
    LabelSample,
    ImportLabels,
    Train,
    NextLabel,
    PreviousLabel,
    LabelOrder,
    WithdrawLabel,
    Adopt,
    GoBack,
    ReadSampleAgain,
    ExportModel,
    ImportModel,
}

/// Where the key of an action works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    /// In every place.
    Everywhere,
    /// In one place.
    In(Place),
}

/// An action with its key.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// The action.
    pub action: Action,
    /// Where its key works.
    pub at: Where,
    /// Its key.
    pub key: KeyboardShortcut,
}

const PLAIN: Modifiers = Modifiers::NONE;
const CTRL: Modifiers = Modifiers::COMMAND;
const SHIFT: Modifiers = Modifiers::SHIFT;
const CTRL_SHIFT: Modifiers = Modifiers {
    shift: true,
    ..Modifiers::COMMAND
};

const fn entry(action: Action, at: Where, modifiers: Modifiers, key: Key) -> Entry {
    Entry {
        action,
        at,
        key: KeyboardShortcut::new(modifiers, key),
    }
}

const fn all(action: Action, modifiers: Modifiers, key: Key) -> Entry {
    entry(action, Where::Everywhere, modifiers, key)
}

const fn slides(action: Action, modifiers: Modifiers, key: Key) -> Entry {
    entry(action, Where::In(Place::Slides), modifiers, key)
}

const fn forecast(action: Action, key: Key) -> Entry {
    entry(action, Where::In(Place::Forecast), PLAIN, key)
}

const fn training(action: Action, modifiers: Modifiers, key: Key) -> Entry {
    entry(action, Where::In(Place::Training), modifiers, key)
}

/// Every action there is, each once.
pub const ALL: &[Entry] = &[
    all(Action::Go(Place::Slides), CTRL, Key::Num1),
    all(Action::Go(Place::Tally), CTRL, Key::Num2),
    all(Action::Go(Place::Forecast), CTRL, Key::Num3),
    all(Action::Go(Place::Ponds), CTRL, Key::Num4),
    all(Action::Go(Place::Training), CTRL, Key::Num5),
    all(Action::Find, PLAIN, Key::F1),
    all(Action::Undo, CTRL, Key::Z),
    all(Action::Redo, CTRL, Key::Y),
    all(Action::Close, PLAIN, Key::Escape),
    all(Action::NewSample, CTRL, Key::N),
    all(Action::EditSample, CTRL_SHIFT, Key::E),
    all(Action::OpenLogbook, CTRL, Key::O),
    all(Action::NewLogbook, CTRL_SHIFT, Key::N),
    all(Action::MadeUpFarm, CTRL_SHIFT, Key::F),
    all(Action::AddPhotos, CTRL, Key::D),
    all(Action::AddFolder, CTRL_SHIFT, Key::D),
    all(Action::Watch, PLAIN, Key::F8),
    all(Action::StopReading, CTRL, Key::Period),
    all(Action::ReadWhatIsLeft, CTRL, Key::R),
    all(Action::Settings, CTRL, Key::Comma),
    all(Action::LightOrDark, PLAIN, Key::F9),
    all(Action::Larger, CTRL, Key::Plus),
    all(Action::Smaller, CTRL, Key::Minus),
    all(Action::UsualSize, CTRL, Key::Num0),
    all(Action::CountByEye, CTRL, Key::E),
    all(Action::Scales, CTRL, Key::M),
    all(Action::SaveTable, CTRL, Key::S),
    all(Action::SavePage, CTRL_SHIFT, Key::S),
    all(Action::MergeLogbook, CTRL_SHIFT, Key::M),
    slides(Action::Agree, PLAIN, Key::Enter),
    slides(Action::Call(Stage::A), PLAIN, Key::A),
    slides(Action::Call(Stage::B), PLAIN, Key::B),
    slides(Action::Call(Stage::C), PLAIN, Key::C),
    slides(Action::Call(Stage::D0), PLAIN, Key::Num0),
    slides(Action::Call(Stage::D1), PLAIN, Key::Num1),
    slides(Action::Call(Stage::D2), PLAIN, Key::Num2),
    slides(Action::Call(Stage::D3), PLAIN, Key::Num3),
    slides(Action::Call(Stage::D4), PLAIN, Key::Num4),
    slides(Action::Call(Stage::E), PLAIN, Key::E),
    slides(Action::Next, PLAIN, Key::ArrowRight),
    slides(Action::Previous, PLAIN, Key::ArrowLeft),
    slides(Action::NextPhoto, PLAIN, Key::ArrowDown),
    slides(Action::PreviousPhoto, PLAIN, Key::ArrowUp),
    slides(Action::NextUncalled, PLAIN, Key::Space),
    slides(Action::NextUnread, PLAIN, Key::U),
    slides(Action::NextAmbiguous, PLAIN, Key::M),
    slides(Action::Refuse, PLAIN, Key::R),
    slides(Action::Withdraw, PLAIN, Key::Backspace),
    slides(Action::SecondReader, PLAIN, Key::S),
    slides(Action::Note, PLAIN, Key::N),
    slides(Action::Shell(Some(Shell::Firm)), PLAIN, Key::F),
    slides(Action::Shell(Some(Shell::Soft)), PLAIN, Key::G),
    slides(Action::Shell(Some(Shell::Papery)), PLAIN, Key::P),
    slides(Action::Shell(None), PLAIN, Key::X),
    slides(Action::PhotoOn, SHIFT, Key::ArrowRight),
    slides(Action::PhotoBack, SHIFT, Key::ArrowLeft),
    slides(Action::Nearer, PLAIN, Key::Plus),
    slides(Action::Farther, PLAIN, Key::Minus),
    slides(Action::Whole, PLAIN, Key::W),
    slides(Action::OneToOne, PLAIN, Key::O),
    slides(Action::Lens, PLAIN, Key::L),
    slides(Action::Marks, PLAIN, Key::H),
    slides(Action::Bases, PLAIN, Key::F2),
    slides(Action::Epidermis, PLAIN, Key::F3),
    slides(Action::Gaps, PLAIN, Key::F4),
    slides(Action::Brighter, PLAIN, Key::CloseBracket),
    slides(Action::Darker, PLAIN, Key::OpenBracket),
    slides(Action::MoreContrast, PLAIN, Key::Period),
    slides(Action::LessContrast, PLAIN, Key::Comma),
    slides(Action::AsTaken, PLAIN, Key::Backslash),
    slides(Action::Correct, PLAIN, Key::K),
    slides(Action::DrawGap, PLAIN, Key::J),
    forecast(Action::Warmer, Key::ArrowUp),
    forecast(Action::Cooler, Key::ArrowDown),
    forecast(Action::DrainLater, Key::ArrowRight),
    forecast(Action::DrainEarlier, Key::ArrowLeft),
    forecast(Action::Worth, Key::V),
    entry(Action::Search, Where::In(Place::Ponds), CTRL, Key::F),
    entry(Action::Outcome, Where::In(Place::Ponds), PLAIN, Key::O),
    slides(Action::LabelAnimal, PLAIN, Key::T),
    training(Action::LabelsOrReaders, PLAIN, Key::W),
    training(Action::LabelSample, SHIFT, Key::L),
    training(Action::ImportLabels, SHIFT, Key::I),
    training(Action::NextLabel, PLAIN, Key::ArrowDown),
    training(Action::PreviousLabel, PLAIN, Key::ArrowUp),
    training(Action::Train, SHIFT, Key::T),
    training(Action::LabelOrder, SHIFT, Key::O),
    training(Action::WithdrawLabel, SHIFT, Key::Backspace),
    training(Action::Adopt, SHIFT, Key::A),
    training(Action::ReadSampleAgain, SHIFT, Key::R),
    training(Action::GoBack, SHIFT, Key::B),
    training(Action::ExportModel, SHIFT, Key::E),
    training(Action::ImportModel, SHIFT, Key::M),
    all(Action::SampleBefore, CTRL, Key::PageUp),
    all(Action::SampleAfter, CTRL, Key::PageDown),
    training(Action::SecondHere, PLAIN, Key::H),
    training(Action::SecondSend, PLAIN, Key::S),
    training(Action::SecondOpen, PLAIN, Key::O),
    training(Action::SecondTake, PLAIN, Key::T),
    training(Action::Settle, PLAIN, Key::L),
    training(Action::Practise, PLAIN, Key::P),
    training(Action::PractisePainted, SHIFT, Key::P),
    training(Action::Standard, SHIFT, Key::S),
    training(Action::BlindCall(Stage::A), PLAIN, Key::A),
    training(Action::BlindCall(Stage::B), PLAIN, Key::B),
    training(Action::BlindCall(Stage::C), PLAIN, Key::C),
    training(Action::BlindCall(Stage::D0), PLAIN, Key::Num0),
    training(Action::BlindCall(Stage::D1), PLAIN, Key::Num1),
    training(Action::BlindCall(Stage::D2), PLAIN, Key::Num2),
    training(Action::BlindCall(Stage::D3), PLAIN, Key::Num3),
    training(Action::BlindCall(Stage::D4), PLAIN, Key::Num4),
    training(Action::BlindCall(Stage::E), PLAIN, Key::E),
    training(Action::BlindUnread, PLAIN, Key::R),
    training(Action::BlindBack, PLAIN, Key::ArrowLeft),
    training(Action::BlindOn, PLAIN, Key::ArrowRight),
];

impl Action {
    /// Its name and what it does.
    pub fn words(self) -> Words {
        match self {
            Self::Go(place) => place.words(),
            Self::Call(stage) => words::call(stage),
            Self::BlindCall(stage) => words::blind_call(stage),
            Self::Shell(Some(Shell::Firm)) => words::SHELLS[0],
            Self::Shell(Some(Shell::Soft)) => words::SHELLS[1],
            Self::Shell(Some(Shell::Papery)) => words::SHELLS[2],
            Self::Shell(None) => words::SHELLS[3],
            other => other.single_words(),
        }
    }

    const fn single_words(self) -> Words {
        match self {
            Self::Go(_) | Self::Call(_) | Self::BlindCall(_) | Self::Shell(_) | Self::Find => {
                words::FIND
            }
            Self::Undo => words::UNDO,
            Self::Redo => words::REDO,
            Self::Close => words::CLOSE,
            Self::NewSample => words::NEW_SAMPLE,
            Self::EditSample => words::EDIT_SAMPLE,
            Self::OpenLogbook => words::OPEN_LOGBOOK,
            Self::NewLogbook => words::NEW_LOGBOOK,
            Self::MadeUpFarm => words::MADE_UP_FARM,
            Self::AddPhotos => words::ADD_PHOTOS,
            Self::AddFolder => words::ADD_FOLDER,
            Self::Watch => words::WATCH,
            Self::StopReading => words::STOP_READING,
            Self::ReadWhatIsLeft => words::READ_AGAIN,
            Self::Settings => words::SETTINGS,
            Self::LightOrDark => words::LIGHT_OR_DARK,
            Self::Larger => words::LARGER,
            Self::Smaller => words::SMALLER,
            Self::UsualSize => words::USUAL_SIZE,
            Self::CountByEye => words::COUNT_BY_EYE,
            Self::Scales => words::SCALES,
            Self::SaveTable => words::SAVE_TABLE,
            Self::SavePage => words::SAVE_PAGE,
            Self::MergeLogbook => words::MERGE_LOGBOOK,
            Self::Agree => words::AGREE,
            Self::Next => words::NEXT,
            Self::Previous => words::PREVIOUS,
            Self::NextPhoto => words::NEXT_PHOTO,
            Self::PreviousPhoto => words::PREVIOUS_PHOTO,
            Self::NextUncalled => words::NEXT_UNCALLED,
            Self::NextUnread => words::NEXT_UNREAD,
            Self::NextAmbiguous => words::NEXT_AMBIGUOUS,
            Self::Refuse => words::REFUSE,
            Self::Withdraw => words::WITHDRAW,
            Self::SecondReader => words::SECOND_READER,
            Self::Note => words::NOTE,
            Self::PhotoOn => words::PHOTO_ON,
            Self::PhotoBack => words::PHOTO_BACK,
            Self::Nearer => words::NEARER,
            Self::Farther => words::FARTHER,
            Self::Whole => words::WHOLE,
            Self::OneToOne => words::ONE_TO_ONE,
            Self::Lens => words::LENS,
            Self::Marks => words::MARKS,
            Self::Bases => words::BASES,
            Self::Epidermis => words::EPIDERMIS,
            Self::Gaps => words::GAPS,
            Self::Brighter => words::BRIGHTER,
            Self::Darker => words::DARKER,
            Self::MoreContrast => words::MORE_CONTRAST,
            Self::LessContrast => words::LESS_CONTRAST,
            Self::AsTaken => words::AS_TAKEN,
            Self::Correct => words::CORRECT,
            Self::DrawGap => words::DRAW_GAP,
            Self::Warmer => words::WARMER,
            Self::Cooler => words::COOLER,
            Self::DrainLater => words::DRAIN_LATER,
            Self::DrainEarlier => words::DRAIN_EARLIER,
            Self::Worth => words::WORTH,
            Self::Search => words::SEARCH,
            Self::Outcome => words::OUTCOME,
            Self::SampleBefore => words::SAMPLE_BEFORE,
            Self::SampleAfter => words::SAMPLE_AFTER,
            Self::SecondHere => words::SECOND_HERE,
            Self::SecondSend => words::SECOND_SEND,
            Self::SecondOpen => words::SECOND_OPEN,
            Self::SecondTake => words::SECOND_TAKE,
            Self::Settle => words::SETTLE,
            Self::Practise => words::PRACTISE,
            Self::PractisePainted => words::PRACTISE_PAINTED,
            Self::Standard => words::STANDARD,
            Self::BlindUnread => words::BLIND_UNREAD,
            Self::BlindBack => words::BLIND_BACK,
            Self::BlindOn => words::BLIND_ON,
            Self::LabelsOrReaders => words::LABELS_OR_READERS,
            Self::LabelAnimal => words::LABEL_ANIMAL,
            Self::LabelSample => words::LABEL_SAMPLE,
            Self::ImportLabels => words::IMPORT_LABELS,
            Self::Train => words::TRAIN,
            Self::NextLabel => words::NEXT_LABEL,
            Self::PreviousLabel => words::PREVIOUS_LABEL,
            Self::LabelOrder => words::LABEL_ORDER,
            Self::WithdrawLabel => words::WITHDRAW_LABEL,
            Self::Adopt => words::ADOPT,
            Self::GoBack => words::GO_BACK,
            Self::ReadSampleAgain => words::READ_SAMPLE_AGAIN,
            Self::ExportModel => words::EXPORT_MODEL,
            Self::ImportModel => words::IMPORT_MODEL,
        }
    }

    /// Whether keys mean something else after it: it opens or closes what lies on top, or another
    /// place.
    const fn turns_keys(self) -> bool {
        matches!(
            self,
            Self::Go(_)
                | Self::Find
                | Self::Close
                | Self::NewSample
                | Self::EditSample
                | Self::OpenLogbook
                | Self::NewLogbook
                | Self::AddPhotos
                | Self::AddFolder
                | Self::Watch
                | Self::Settings
                | Self::CountByEye
                | Self::Scales
                | Self::SaveTable
                | Self::SavePage
                | Self::MergeLogbook
                | Self::Worth
                | Self::Refuse
                | Self::Note
                | Self::Search
                | Self::Outcome
                | Self::SecondSend
                | Self::SecondOpen
                | Self::SecondTake
                | Self::Standard
                | Self::ImportLabels
                | Self::WithdrawLabel
                | Self::ExportModel
                | Self::ImportModel
        )
    }

    /// Its row in the list.
    pub fn entry(self) -> Option<&'static Entry> {
        ALL.iter().find(|entry| entry.action == self)
    }
}

impl Entry {
    /// Whether its key works in this place.
    pub fn works_in(&self, place: Place) -> bool {
        match self.at {
            Where::Everywhere => true,
            Where::In(own) => own == place,
        }
    }

    /// Whether its key may be pressed while a person types: it would neither write nor be wanted
    /// by the field.
    fn beside_typing(&self) -> bool {
        let own = matches!(self.action, Action::Undo | Action::Redo);
        let function = matches!(self.key.logical_key, Key::F1 | Key::F8 | Key::F9);
        (self.key.modifiers.command && !own) || function
    }

    /// Whether holding the key down may do it again and again: a call is one press.
    fn repeats(&self) -> bool {
        matches!(
            self.action,
            Action::Next
                | Action::Previous
                | Action::Undo
                | Action::Redo
                | Action::Nearer
                | Action::Farther
                | Action::Brighter
                | Action::Darker
                | Action::MoreContrast
                | Action::LessContrast
                | Action::Larger
                | Action::Smaller
                | Action::Warmer
                | Action::Cooler
                | Action::NextLabel
                | Action::PreviousLabel
        )
    }
}

/// What holds the keyboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Holder {
    Nobody,
    Widget,
    Field,
}

/// What was pressed in a frame.
#[derive(Debug, Default)]
pub struct Pressed {
    /// The actions of the keys, in the order of the presses.
    pub actions: Vec<Action>,
    /// What was pressed after an action that changes what keys mean: to be seen by the next frame.
    pub later: Vec<egui::Event>,
}

/// The actions whose keys were pressed; their events are taken out of the input. With `covered`, a
/// dialog lies on top and only keys that work everywhere count.
///
/// On a machine that is busy a frame may hold several presses. What follows a key that opens a dialog
/// or another place is meant for that, so it is taken out as well.
pub fn pressed(ctx: &egui::Context, place: Place, covered: bool) -> Pressed {
    let holder = if ctx.text_edit_focused() {
        Holder::Field
    } else if ctx.egui_wants_keyboard_input() {
        Holder::Widget
    } else {
        Holder::Nobody
    };
    let mut found = Pressed::default();
    // The letter that the key of an action writes comes right after it and is meant for nothing.
    let mut own_letter = false;
    ctx.input_mut(|input| {
        input.events.retain(|event| {
            let is_text = matches!(event, egui::Event::Text(_));
            if is_text && std::mem::take(&mut own_letter) {
                return false;
            }
            if matches!(event, egui::Event::Key { pressed: true, .. }) {
                own_letter = false;
            }
            if found.actions.last().is_some_and(|last| last.turns_keys()) {
                let typed = is_text || matches!(event, egui::Event::Key { .. });
                if typed {
                    found.later.push(event.clone());
                }
                return !typed;
            }
            let egui::Event::Key {
                key,
                pressed: true,
                repeat,
                modifiers,
                ..
            } = event
            else {
                return true;
            };
            let Some(entry) =
                meant(*key, *modifiers, place).filter(|e| allowed(e, holder, covered))
            else {
                return true;
            };
            if !*repeat || entry.repeats() {
                found.actions.push(entry.action);
            }
            own_letter = true;
            false
        });
    });
    found
}

/// The row whose key this is: the one that names the most modifiers.
fn meant(key: Key, modifiers: Modifiers, place: Place) -> Option<&'static Entry> {
    ALL.iter()
        .filter(|e| e.works_in(place) && e.key.logical_key == key)
        .filter(|e| modifiers.matches_logically(e.key.modifiers))
        .max_by_key(|e| u8::from(e.key.modifiers.shift) + u8::from(e.key.modifiers.command))
}

fn allowed(entry: &Entry, holder: Holder, covered: bool) -> bool {
    if covered && (entry.at != Where::Everywhere || entry.action == Action::Undo) {
        return false;
    }
    let moves = matches!(
        entry.key.logical_key,
        Key::Enter
            | Key::Space
            | Key::Escape
            | Key::ArrowLeft
            | Key::ArrowRight
            | Key::ArrowUp
            | Key::ArrowDown
    );
    match holder {
        Holder::Nobody => true,
        Holder::Widget => !moves || entry.key.modifiers.command,
        Holder::Field => entry.beside_typing(),
    }
}

/// The actions whose name or hint holds every word of `search`, those whose name does first.
pub fn find(search: &str, name_of_key: impl Fn(&Entry) -> String) -> Vec<&'static Entry> {
    let wanted: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
    let rank = |entry: &Entry| {
        let words = entry.action.words();
        let (name, hint) = (words.name.to_lowercase(), words.hint.to_lowercase());
        let key = name_of_key(entry).to_lowercase();
        let in_name = wanted.iter().all(|word| name.contains(word));
        let anywhere = wanted
            .iter()
            .all(|word| name.contains(word) || hint.contains(word) || key == *word);
        if in_name {
            Some(0)
        } else {
            anywhere.then_some(1)
        }
    };
    let mut found: Vec<(i32, &'static Entry)> = ALL
        .iter()
        .filter_map(|entry| Some((rank(entry)?, entry)))
        .collect();
    found.sort_by_key(|(rank, _)| *rank);
    found.into_iter().map(|(_, entry)| entry).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn no_action_stands_twice_and_no_two_share_a_key_in_a_place() {
        let actions: BTreeSet<Action> = ALL.iter().map(|entry| entry.action).collect();
        assert_eq!(actions.len(), ALL.len());
        for place in Place::ALL {
            let here: Vec<&Entry> = ALL.iter().filter(|entry| entry.works_in(place)).collect();
            for (i, a) in here.iter().enumerate() {
                for b in &here[i + 1..] {
                    assert_ne!(a.key, b.key, "{:?} {:?}", a.action, b.action);
                }
            }
        }
    }

    #[test]
    fn names_differ_and_are_found() {
        let names: BTreeSet<&str> = ALL.iter().map(|e| e.action.words().name).collect();
        assert_eq!(names.len(), ALL.len());
        for entry in ALL {
            let found = find(entry.action.words().name, |_| String::new());
            assert!(found.iter().any(|e| e.action == entry.action));
        }
        assert_eq!(find("", |_| String::new()).len(), ALL.len());
        assert!(find("no such thing at all", |_| String::new()).is_empty());
    }
}
