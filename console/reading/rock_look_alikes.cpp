#include <array>

#include "console/reading/rock_names.hpp"

namespace stonecall::reading {
namespace {

// Words of the list "american-english" (SCOWL, Debian package wamerican) within the tolerance of
// our spelling repair of a trade word or a rock's name, and a few added by hand.
constexpr std::string_view words[] = {
    "afterward",    "afterword",     "afterwords",   "agglomerated", "agglutinated", "approximate",
    "approximated", "approximates",  "arose",        "arrive",       "arrives",      "barley",
    "basal",        "basely",        "beach",        "beech",        "belch",        "bleach",
    "blench",       "blotter",       "bobs",         "bolder",       "bomb",         "boobs",
    "bounder",      "bounders",      "bowlder",      "bowlders",     "breath",       "breech",
    "broach",       "bunch",         "buries",       "burned",       "burped",       "burred",
    "busied",       "calk",          "cannon",       "canon",        "canton",       "carbonate",
    "carbonating",  "carbonation",   "cater",        "centiliters",  "centimeter",   "chalky",
    "chart",        "cheat",         "chest",        "cider",        "ciders",       "clinked",
    "clunker",      "cobble",        "cobbled",      "cobbler",      "cobblers",     "collated",
    "collect",      "collection",    "collector",    "collects",     "collocated",   "complected",
    "confection",   "conglomerated", "connected",    "connection",   "convection",   "corrected",
    "correcting",   "correctional",  "corrective",   "corrector",    "correlation",  "corruption",
    "crate",        "crated",        "crates",       "crest",        "cruet",        "cruft",
    "crush",        "crusty",        "curst",        "darting",      "debarking",    "debarring",
    "debating",     "decanting",     "depicting",    "depleting",    "deported",     "deporting",
    "depraving",    "deputing",      "deserting",    "document",     "documents",    "eighth",
    "eights",       "evaporate",     "evaporated",   "evaporates",   "faint",        "feint",
    "fifth",        "figments",      "finisher",     "finishes",     "fling",        "flinty",
    "flirt",        "flit",          "footfall",     "foray",        "fort",         "forte",
    "forth",        "forts",         "fragment",     "fragmented",   "gannet",       "garner",
    "garret",       "golly",         "gore",         "gorged",       "gorse",        "gouge",
    "granted",      "grantee",       "granulate",    "granulated",   "granulates",   "granule",
    "gull",         "gulls",         "hardily",      "hardy",        "impacting",    "inched",
    "itches",       "leading",       "leafing",      "leaking",      "leaning",      "leaping",
    "leasing",      "lodestone",     "marbled",      "meres",        "meteors",      "meter",
    "metes",        "metros",        "milliliters",  "millimeter",   "miters",       "moistly",
    "nearby",       "neatly",        "nicety",       "noshing",      "notching",     "noting",
    "occasion",     "occasionally",  "occasioned",   "occasions",    "parched",      "pebble",
    "pebbled",      "perches",       "phonograph",   "phonographs",  "phosphoric",   "photographed",
    "photographer", "photographic",  "photography",  "pictograph",   "pictured",     "practicable",
    "practicably",  "practical",     "practicality", "practicals",   "predominant",  "quart",
    "quartet",      "quartets",      "quartette",    "quarto",       "rejoinder",    "remaindered",
    "remained",     "remanded",      "reminded",     "reminder",     "reminders",    "retainer",
    "ride",         "ridged",        "saddled",      "sale",         "sampled",      "sampler",
    "samplers",     "sandstorm",     "sate",         "scale",        "scampered",    "scatted",
    "scatter",      "scatters",      "schism",       "seen",         "semen",        "serpentine",
    "seventeenth",  "seventh",       "seventies",    "sever",        "shade",        "shake",
    "shall",        "shalt",         "shame",        "shape",        "share",        "shatter",
    "shattered",    "shave",         "shoeing",      "shooing",      "shoring",      "shoving",
    "shuttered",    "simple",        "sixth",        "skate",        "skittered",    "slake",
    "slat",         "slated",        "slathered",    "slats",        "slave",        "slowing",
    "snowing",      "sowing",        "spate",        "spatted",      "spattered",    "splattered",
    "spotter",      "sputtered",     "stale",        "state",        "stowing",      "stuttered",
    "submit",       "surfaced",      "swaddle",      "swatter",      "swattered",    "terraced",
    "third",        "thirsty",       "tonality",     "traversing",   "vascular",     "vehicular",
    "volley",       "wack",          "wacker",       "wacko",        "wacks",        "wacky",
    "wake",         "whetstone",
};

}  // namespace

std::span<const std::string_view> look_alikes() {
  return words;
}

}  // namespace stonecall::reading
