//! Words of the logbook.

/// Said of a logbook that lies on a network or in a shared folder.
pub const SHARED_FOLDER: &str = "This logbook lies in a folder that other machines share. Only one program should have it \
     open at a time; a local folder with exports or merges is safer.";

/// What the rows of a table are, in the plural.
pub fn table(table: &str) -> &str {
    match table {
        "reader" => "readers",
        "microscope" => "microscope profiles",
        "pond" => "ponds",
        "sample" => "samples",
        "animal" => "animals",
        "photo" => "photos",
        "reading" => "readings",
        "call" => "calls",
        "blind_round" => "rounds for a second reader",
        "practice_round" => "practice rounds",
        "second_call" => "second calls",
        "settlement" => "settlements",
        "label" => "labels",
        "model" => "models",
        "model_use" => "changes of the model in use",
        "verdict" => "verdicts",
        "outcome" => "outcomes",
        "setting" => "settings",
        "journal" => "actions",
        other => other,
    }
}

/// A line of calls that was refused.
pub fn refused(why: &str) -> String {
    format!("refused: {why}")
}

/// The farm and its file.
pub fn farm(farm: &str, file: &str) -> String {
    format!("{farm}  {file}\nRows, each edit being one:")
}

/// A logbook whose rows are in here.
pub fn origin(farm: &str, id: &str) -> String {
    format!("Rows come from: {farm} ({id})")
}

/// Something done to the file itself.
pub fn upkeep(at: &str, kind: &str, detail: &str, by: &str) -> String {
    format!("{at}  {kind} of {detail}, by {by}")
}

/// How many backups there are.
pub fn backups(count: usize, last: Option<&str>) -> String {
    match last {
        None => "No backup yet: `tailfan logbook backup` makes one.".to_owned(),
        Some(last) => format!("{count} backups, the last: {last}"),
    }
}

/// Another program that has it open.
pub fn open_too(who: &str) -> String {
    format!("Also open in: {who}")
}

/// The end of a check.
pub fn checked(rows: u64, well: bool, photos: usize) -> String {
    let photos = match photos {
        0 => "all photos are as they came".to_owned(),
        1 => "1 photo is gone or changed".to_owned(),
        many => format!("{many} photos are gone or changed"),
    };
    let file = if well { "no fault" } else { "faults" };
    format!("{rows} rows: {file}; {photos}")
}

/// What to do with a damaged file.
pub fn after_damage(file: &str, last_backup: Option<&str>) -> String {
    format!(
        "leave the file as it is; `tailfan logbook salvage \"{file}\" --out NEW` reads what can be read into a new one. {}",
        last(last_backup)
    )
}

/// What else there is beside salvaging.
pub fn other_ways(last_backup: Option<&str>) -> String {
    format!(
        "{} What was merged or exported elsewhere can be merged in again.",
        last(last_backup)
    )
}

fn last(backup: Option<&str>) -> String {
    backup.map_or_else(
        || "There is no backup beside it.".to_owned(),
        |file| format!("The last backup beside it: {file}."),
    )
}

/// What was exported.
pub fn exported(rows: u64, photos: u64, place: &str) -> String {
    format!("{rows} rows and {photos} photos written: {place}")
}

/// What was taken in.
pub fn taken(new: u64, known: u64, photos: u64) -> String {
    format!("{new} rows came in, {known} were here already; {photos} photos copied")
}

/// Rows with known ids and other contents.
pub fn differing(rows: u64) -> String {
    format!(
        "{rows} rows have ids that are here with other contents: they were changed outside of the program, and ours were kept."
    )
}

/// A name that stands for several ponds.
pub fn ponds_of_one_name(name: &str) -> String {
    format!("Several ponds are called \"{name}\": rename one where they are not the same farm's.")
}

/// Animals with rival calls.
pub fn rivals(animals: u64) -> String {
    let animals = match animals {
        1 => "1 animal has".to_owned(),
        many => format!("{many} animals have"),
    };
    format!("{animals} rival calls: the latest stands until they are settled.")
}

/// The backup made before.
pub fn backup_before(file: &str) -> String {
    format!("As it was before: {file}")
}

/// What was salvaged.
pub fn salvaged(rows: u64, photos: u64, place: &str) -> String {
    format!("{rows} rows and {photos} photos read into {place}")
}

/// A table that could not be read whole.
pub fn broken(rows: &str) -> String {
    format!("Not all {rows} could be read.")
}

/// What stands for lost rows.
pub fn stand_ins(stand_ins: u64, emptied: u64) -> String {
    format!(
        "{stand_ins} rows stand for lost ones (\"lost in the damage\"), {emptied} links to lost ones were left empty."
    )
}

/// A photo that could not be found.
pub fn photo_missing(name: &str) -> String {
    format!("The file of photo \"{name}\" is gone or changed; what was read and called is kept.")
}
