//! What to be careful about, where it belongs: at the pond, at the bench, on the page.
//!
//! Each gives way to local codes and licensed practice, and says so.

/// The sentence that stands with every set of cautions.
pub const DEFER: &str = "Local codes, permits and the people licensed for them come before anything \
said here.";

/// While netting and carrying animals.
pub const SAMPLING: [&str; 5] = [
    "Net from several points and never sort: just-moulted animals hide and shun the net.",
    "One net and one bucket for each pond, the cleanest pond first; disinfect what must be shared, \
     and never pour sample water into another pond.",
    "Where disease is suspected, do not net, move or drain: call the competent veterinary \
     authority.",
    "Keep animals shaded, cool and in aerated water, for minutes rather than hours.",
    "Banks are slippery and water is deep: never alone, never at night without the site's rules.",
];

/// At the bench.
pub const BENCH: [&str; 6] = [
    "A tip can be read without cutting: hold the animal under the objective, wet, for less than a \
     minute. Published stagings did so.",
    "If you cut, take the smallest tip, chill or anaesthetise as your veterinarian advises, and kill \
     humanely afterwards: never return a clipped animal to a pond.",
    "An animal that had an anaesthetic or any other treatment never enters the harvest: ask the \
     veterinarian or food-safety officer about residues.",
    "Scissors rather than blades, cut away from fingers; broken glass and blades go into the sharps \
     box.",
    "Spines and cuts let Vibrio in: cover wounds, wear gloves; a wound that swells fast and hurts \
     needs a physician at once. People with liver disease, diabetes or weak immunity should not \
     handle live shrimp bare-handed.",
    "Label each slide with pond and animal before it leaves your hand; disinfect slides and scissors \
     between ponds.",
];

/// On the page that goes to the manager.
pub const HARVEST: [&str; 8] = [
    "A moult tally is not a health certificate and no permit to drain. Just-moulted animals hide and \
     shun the net: the sample errs towards hard shells.",
    "If disease is suspected, do not drain: call the competent veterinary authority.",
    "Gates, canals, bag nets, pumps and night work can drown, trap or shock: site safety rules, never \
     alone.",
    "Sodium metabisulfite gives off sulphur dioxide, which has killed: mix it in moving air, with the \
     protection your safety officer names, never alone.",
    "Oxygen falls while a pond drains (below 4 mg/L was measured without aeration): watch it to the \
     end.",
    "The last water is the muddiest: discharge permit and settling come first; tell the neighbours.",
    "The buyer's written specification and food law decide what may be sold; treated or clipped \
     animals never enter the harvest.",
    "Kill and chill animals as law, certification scheme and veterinarian require.",
];

/// With every verdict.
pub const VERDICT: &str = "This speaks of moulting only. Disease, water, permits, the buyer's contract \
and the people at the gate are the manager's to judge.";
