//! Plans before netting, in words and tables.

use crate::decision::plan::CatchBias;
use crate::decision::plan::Chances;
use std::fmt::Write as _;

/// Rows of the curve.
const ROWS: usize = 10;

/// How to spread the net, and what it misses.
pub fn spread_the_net(animals: u64, stations: u64, each: u64) -> String {
    format!(
        "Spread the net: {animals} animals as {each} from each of {stations} points of the pond, inlet, \
         outlet, both banks and the middle among them, and from more than one throw at each; note station \
         and throw with every animal. Animals of one throw are alike and tell less than their number. \
         Just-moulted animals hide and shun the net, so a netting shows a pond harder than it is; feed \
         trays do so even more and never clear a pond. Net at the hour of the planned harvest."
    )
}

/// Why a second netting needs its own plan.
pub const SECOND_NETTING: &str = "Whether there is a second netting, and how many animals it has, is \
fixed before the first; testing again without a plan is wrong more often than the confidence says. The same \
holds for calling one by one: choose the plan, then call.";

/// What so many animals can do for a pond as a whole.
pub fn for_all(animals: u64, fewest: Option<u64>) -> String {
    match fewest {
        None => "No number of animals shows every limit kept: a limit of 0 never is.".to_owned(),
        Some(fewest) if animals < fewest => format!(
            "{animals} animals can warn but never clear this pond: within limits takes every limit shown, \
             so {fewest} animals at least, with none in any group."
        ),
        Some(fewest) => format!(
            "{animals} animals can clear this pond: within limits takes every limit shown, so {fewest} \
             animals at least, with none in any group."
        ),
    }
}

/// What a design effect does to a plan.
pub fn clustered(animals: u64, effect: f64) -> String {
    let few = animals as f64 / effect;
    format!(
        "With a design effect of {effect:.1}, {animals} animals tell as much as {few:.0} drawn one by one; \
         every number below is in animals netted. The chances are those of the fewer animals, continued \
         between whole numbers: an approximation, since how alike the animals of one throw are is not \
         known."
    )
}

/// What a pond on the limit shows when its animals shun the net.
pub fn catch_bias(bias: &CatchBias) -> String {
    format!(
        "caught {:.2} times as readily as the rest, a pond on the limit shows {:.1} % and comes out within in {:.0} of 100",
        bias.catchability,
        100.0 * bias.shown,
        100.0 * bias.within
    )
}

/// The chance of "within" against the true share, as a curve of signs.
pub fn curve(points: &[Chances]) -> String {
    let mut text = String::new();
    for row in (0..=ROWS).rev() {
        let signs: String = points
            .iter()
            .map(|p| (p.within * ROWS as f64).round() as usize)
            .map(|height| if height == row { '*' } else { ' ' })
            .collect();
        let percent = 100 * row / ROWS;
        // Writing to a String cannot fail.
        writeln!(text, "    {percent:>5} % |{}", signs.trim_end()).ok();
    }
    let last = points.last().map_or(0.0, |p| 100.0 * p.share);
    let line = "-".repeat(points.len());
    let end = format!("{last:.0} %");
    let width = points.len().saturating_sub(end.len() + 3);
    writeln!(text, "            +{line}").ok();
    writeln!(text, "             0 %{:width$}{end}   true share", "").ok();
    text
}

/// "up to 3", or what stands for a number that is not there.
pub fn up_to(number: Option<u64>) -> String {
    number.map_or_else(|| "never".to_owned(), |k| format!("up to {k}"))
}

/// "from 3 on", or what stands for a number that is not there.
pub fn from(number: Option<u64>) -> String {
    number.map_or_else(|| "never".to_owned(), |k| format!("from {k} on"))
}
