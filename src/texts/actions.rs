//! Everything a person can do in the window: what it is called and what it does.

/// An action in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// Its name.
    pub name: &'static str,
    /// What it does, in a sentence.
    pub hint: &'static str,
}

const fn words(name: &'static str, hint: &'static str) -> Words {
    Words { name, hint }
}

/// The places of the window, in their order.
pub const PLACES: [Words; 5] = [
    words("Slides", "read the tips of the sample in hand"),
    words("Tally", "what was called, counted against the limits"),
    words("Forecast", "the tally carried forward night by night"),
    words("Ponds", "all samples, pond by pond"),
    words(
        "Training",
        "labelled slides and models, second readings, settling and practice",
    ),
];

/// Opens the list of actions.
pub const FIND: Words = words(
    "Find an action",
    "search everything that can be done, with its key",
);
/// Takes the last thing back.
pub const UNDO: Words = words("Undo", "take back what was done last");
/// Does it again.
pub const REDO: Words = words("Redo", "do again what was taken back");
/// Closes what lies on top.
pub const CLOSE: Words = words("Close", "close what lies on top, or leave what was begun");
/// Begins a sample.
pub const NEW_SAMPLE: Words = words("New sample", "note a netting: pond, hour, weight and water");
/// Changes the sample in hand.
pub const EDIT_SAMPLE: Words = words(
    "Change the sample",
    "hour, weight, water, species and planned harvest of the sample in hand",
);
/// Opens another logbook.
pub const OPEN_LOGBOOK: Words = words("Open a logbook", "work in another logbook");
/// Begins a logbook.
pub const NEW_LOGBOOK: Words = words("New logbook", "begin an empty logbook in a file of its own");
/// Opens the made-up farm.
pub const MADE_UP_FARM: Words = words(
    "Made-up farm",
    "try everything on a made-up morning; it lies in a logbook of its own",
);
/// Adds photos.
pub const ADD_PHOTOS: Words = words("Add photos", "choose photos for the sample in hand");
/// Adds a folder.
pub const ADD_FOLDER: Words = words(
    "Add a folder",
    "take all photos of a folder into the sample",
);
/// Watches a folder.
pub const WATCH: Words = words(
    "Watch a folder",
    "take each photo as the camera saves it; again to stop watching",
);
/// Stops reading.
pub const STOP_READING: Words = words(
    "Stop",
    "end what runs: reading (photos that wait stay as they are), training, painting, writing slides",
);
/// Reads what waits.
pub const READ_AGAIN: Words = words(
    "Read what is left",
    "read the photos that have no reading yet",
);
/// Opens the settings.
pub const SETTINGS: Words = words("Settings", "limits, reader, folders and looks");
/// Light or dark.
pub const LIGHT_OR_DARK: Words = words("Light or dark", "change between bright and dark window");
/// Larger words.
pub const LARGER: Words = words("Larger words", "show everything larger");
/// Smaller words.
pub const SMALLER: Words = words("Smaller words", "show everything smaller");
/// Usual size.
pub const USUAL_SIZE: Words = words("Usual size", "show everything in its usual size");
/// Counting by eye.
pub const COUNT_BY_EYE: Words = words(
    "Count by eye",
    "no photos: one stage key an animal, as with a hand counter",
);
/// Scale profiles.
pub const SCALES: Words = words(
    "Scale",
    "choose the microscope profile, or make one from a ruling",
);
/// Saves the table.
pub const SAVE_TABLE: Words = words(
    "Save the table",
    "write the animals of the sample to a CSV file",
);
/// Saves the page.
pub const SAVE_PAGE: Words = words(
    "Save the page",
    "write the page for the manager to a PDF file",
);

/// Merges a logbook.
pub const MERGE_LOGBOOK: Words = words(
    "Take another logbook in",
    "everything of another logbook that is not here yet; a backup is made before",
);

/// Agrees.
pub const AGREE: Words = words("Agree", "call the stage that is proposed");
/// Next animal.
pub const NEXT: Words = words("Next animal", "look at the next animal");
/// Animal before.
pub const PREVIOUS: Words = words("Animal before", "look at the animal before");
/// Next photo.
pub const NEXT_PHOTO: Words = words("Next photo", "look at the next photo of the same animal");
/// Photo before.
pub const PREVIOUS_PHOTO: Words = words(
    "Photo before",
    "look at the photo before of the same animal",
);
/// Next uncalled.
pub const NEXT_UNCALLED: Words = words("Next uncalled", "go to the next animal without a call");
/// Next unread.
pub const NEXT_UNREAD: Words = words(
    "Next unread",
    "go to the next animal that was refused or has no reading",
);
/// Next ambiguous.
pub const NEXT_AMBIGUOUS: Words = words(
    "Next ambiguous",
    "go to the next animal that is marked for a second reader or without a proposal",
);
/// Refuses.
pub const REFUSE: Words = words("Refuse the slide", "the animal counts as unread; say why");
/// Withdraws a call.
pub const WITHDRAW: Words = words("Withdraw the call", "the animal is uncalled again");
/// Asks for a second reader.
pub const SECOND_READER: Words = words(
    "Second reader",
    "mark the animal for another reader, or take the mark off",
);
/// A note.
pub const NOTE: Words = words("Write a note", "a line about this animal");
/// Shell as felt.
pub const SHELLS: [Words; 4] = [
    words("Shell firm", "the shell felt hard all over"),
    words("Shell soft", "the shell gave everywhere"),
    words("Shell papery", "the shell flexed like paper"),
    words("Shell not felt", "take back what was noted about the shell"),
];
/// Photo to the animal after.
pub const PHOTO_ON: Words = words(
    "Photo to the animal after",
    "this photo shows the next animal",
);
/// Photo to the animal before.
pub const PHOTO_BACK: Words = words(
    "Photo to the animal before",
    "this photo shows the animal before",
);
/// Nearer.
pub const NEARER: Words = words("Nearer", "magnify the photo");
/// Farther.
pub const FARTHER: Words = words("Farther", "show more of the photo");
/// Whole photo.
pub const WHOLE: Words = words("Whole photo", "fit the photo into its place");
/// One to one.
pub const ONE_TO_ONE: Words = words(
    "Pixel for pixel",
    "one pixel of the photo on one of the screen",
);
/// Lens.
pub const LENS: Words = words(
    "Magnifier",
    "a magnifier that follows the pointer along the bases",
);
/// Marks.
pub const MARKS: Words = words(
    "All marks",
    "show or hide everything that is drawn on the photo",
);
/// Bases.
pub const BASES: Words = words("Marks of the bases", "show or hide the row of setal bases");
/// Epidermis.
pub const EPIDERMIS: Words = words(
    "Mark of the epidermis",
    "show or hide the edge of the epidermis",
);
/// Gaps.
pub const GAPS: Words = words("Marks of the gaps", "show or hide the gap of each seta");
/// Brighter.
pub const BRIGHTER: Words = words("Brighter", "for the eye only: nothing is measured anew");
/// Darker.
pub const DARKER: Words = words("Darker", "for the eye only: nothing is measured anew");
/// More contrast.
pub const MORE_CONTRAST: Words = words(
    "More contrast",
    "for the eye only: nothing is measured anew",
);
/// Less contrast.
pub const LESS_CONTRAST: Words = words(
    "Less contrast",
    "for the eye only: nothing is measured anew",
);
/// As taken.
pub const AS_TAKEN: Words = words(
    "Light as taken",
    "brightness and contrast as the camera took them",
);
/// Correct by hand.
pub const CORRECT: Words = words(
    "Correct by hand",
    "drag the base line or the epidermis on the photo; the proposal follows",
);
/// Draw a gap.
pub const DRAW_GAP: Words = words(
    "Draw a gap",
    "two clicks: the base line, then the edge of the epidermis",
);

/// Warmer.
pub const WARMER: Words = words(
    "Warmer water",
    "carry forward with water half a degree warmer",
);
/// Cooler.
pub const COOLER: Words = words(
    "Cooler water",
    "carry forward with water half a degree cooler",
);
/// Drain later.
pub const DRAIN_LATER: Words = words("Drain later", "plan the drain a night later");
/// Drain earlier.
pub const DRAIN_EARLIER: Words = words("Drain earlier", "plan the drain a night earlier");
/// Value of waiting.
pub const WORTH: Words = words(
    "Value of waiting",
    "what each night brings, in the farm's own numbers",
);
/// Search.
pub const SEARCH: Words = words("Search", "find ponds, samples and notes");
/// Outcome.
pub const OUTCOME: Words = words("Enter the outcome", "what the harvest turned out to be");
/// Sample before.
pub const SAMPLE_BEFORE: Words = words("Sample before", "take the sample before into hand");
/// Sample after.
pub const SAMPLE_AFTER: Words = words("Sample after", "take the sample after into hand");

/// A second reading at this desk.
pub const SECOND_HERE: Words = words(
    "Read as second reader",
    "read the marked slides of the sample in hand blind, under your own name",
);
/// Sending slides.
pub const SECOND_SEND: Words = words(
    "Send slides",
    "write the slides for a second reader elsewhere into one file",
);
/// Opening slides.
pub const SECOND_OPEN: Words = words(
    "Open sent slides",
    "read slides that somebody sent you; the answer is written beside them",
);
/// Taking an answer.
pub const SECOND_TAKE: Words = words(
    "Take an answer in",
    "take in what a second reader elsewhere called; twice does no harm",
);
/// Settling.
pub const SETTLE: Words = words(
    "Settle",
    "look at slides on which two readers differ, side by side",
);
/// Practice.
pub const PRACTISE: Words = words("Practise", "read settled slides without hints, timed");
/// Practice on painted slides.
pub const PRACTISE_PAINTED: Words = words(
    "Practise on painted slides",
    "for a farm without settled slides: painted tips of known stage",
);
/// What a practice round must reach.
pub const STANDARD: Words = words(
    "Practice standard",
    "what a practice round must reach to earn its line in the farm's records",
);
/// Cannot be read.
pub const BLIND_UNREAD: Words = words(
    "Leave it unread",
    "this slide cannot be read by you, or you cannot tell",
);
/// The slide before.
pub const BLIND_BACK: Words = words("Slide before", "look at the slide before once more");
/// The slide after.
pub const BLIND_ON: Words = words("Slide after", "look at the slide after");

/// Calling a stage of a slide that is read blind.
pub fn blind_call(stage: crate::moult::Stage) -> Words {
    use crate::moult::Stage;
    let name = match stage {
        Stage::A => "Blind A",
        Stage::B => "Blind B",
        Stage::C => "Blind C",
        Stage::D0 => "Blind D0",
        Stage::D1 => "Blind D1",
        Stage::D2 => "Blind D2",
        Stage::D3 => "Blind D3",
        Stage::D4 => "Blind D4",
        Stage::E => "Blind E",
    };
    words(name, call(stage).hint)
}
/// Turns the place.
pub const LABELS_OR_READERS: Words = words(
    "Labels or readers",
    "turn the place between labels with models and readers with practice",
);
/// Labels the animal in view.
pub const LABEL_ANIMAL: Words = words(
    "Label the animal",
    "its call becomes a label for training, as the reader's own call",
);
/// Labels the sample.
pub const LABEL_SAMPLE: Words = words(
    "Label the sample",
    "every called animal of the sample in hand becomes a label, as the reader's own call",
);
/// Takes in labels.
pub const IMPORT_LABELS: Words = words(
    "Take in labels",
    "a table with the columns photo, stage, animal, pond, reader, evidence",
);
/// Trains.
pub const TRAIN: Words = words(
    "Train",
    "fit a new model to the labels and compare it with the one in use",
);
/// The label after.
pub const NEXT_LABEL: Words = words("Next label", "choose the label below");
/// The label before.
pub const PREVIOUS_LABEL: Words = words("Previous label", "choose the label above");
/// Order of the labels.
pub const LABEL_ORDER: Words = words(
    "Order of the labels",
    "the oldest or the most surprising first",
);
/// Withdraws a label.
pub const WITHDRAW_LABEL: Words = words(
    "Withdraw the label",
    "take the chosen label out of training, with the reason",
);
/// Adopts a model.
pub const ADOPT: Words = words(
    "Adopt the new model",
    "use the model trained last from now on",
);
/// Goes back.
pub const GO_BACK: Words = words("Go back", "use the model again that was in use before");
/// Reads again.
pub const READ_SAMPLE_AGAIN: Words = words(
    "Read the sample anew",
    "propose again with the model in use; calls stay as they are",
);
/// Hands a model on.
pub const EXPORT_MODEL: Words = words(
    "Hand the model on",
    "write the model in use and its card into files",
);
/// Takes a model in.
pub const IMPORT_MODEL: Words = words("Take in a model", "from a file that tailfan wrote");

/// Calling a stage.
pub fn call(stage: crate::moult::Stage) -> Words {
    use crate::moult::Stage;
    match stage {
        Stage::A => words("Call A", "the animal is in A: just moulted"),
        Stage::B => words("Call B", "the animal is in B: late after the moult"),
        Stage::C => words("Call C", "the animal is in C: between moults"),
        Stage::D0 => words("Call D0", "the animal is in D0: a gap opens"),
        Stage::D1 => words("Call D1", "the animal is in D1: the edge is scalloped"),
        Stage::D2 => words("Call D2", "the animal is in D2: new setae"),
        Stage::D3 => words("Call D3", "the animal is in D3: new setae dense, folds"),
        Stage::D4 => words("Call D4", "the animal is in D4: the old cuticle lifts"),
        Stage::E => words("Call E", "the animal is in E: shedding"),
    }
}
