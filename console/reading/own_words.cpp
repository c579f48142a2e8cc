#include "console/reading/own_words.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

#include "console/reading/lexicon.hpp"

namespace stonecall::reading {
namespace {

constexpr std::array<std::string_view, 161> trade{
    "sample",        "samples",     "specimen",    "buried",       "stereo",        "percent",
    "centimetres",   "centimeters", "millimetres", "millimeters",  "inches",        "arrived",
    "leaving",       "departing",   "correction",  "grapefruit",   "football",      "thumbnail",
    "walnut",        "tennis",      "scattered",   "occasional",   "mostly",        "roughly",
    "hardly",        "quarter",     "quarters",    "thirds",       "photograph",    "picture",
    "pictures",      "question",    "remainder",   "majority",     "abundant",      "plenty",
    "perched",       "eleven",      "twelve",      "thirteen",     "fourteen",      "fifteen",
    "sixteen",       "seventeen",   "eighteen",    "nineteen",     "twenty",        "thirty",
    "forty",         "fifty",       "sixty",       "seventy",      "eighty",        "ninety",
    "hundred",       "seven",       "eight",       "collected",    "departed",      "finished",
    "documented",    "vesicular",   "surface",     "showing",      "station",       "orange",
    "pebbles",       "cobbles",     "boulder",     "boulders",     "fragments",     "nearly",
    "practically",   "everything",  "nothing",     "uncommon",     "predominantly", "roughly",
    "approximately", "diameter",    "metres",      "meters",       "barely",        "afterwards",
    "after",         "photo",       "photos",      "taken",        "three",         "under",
    "number",        "numbers",     "other",       "others",       "stone",         "stones",
    "sorry",         "should",      "least",       "sized",        "standing",      "along",
    "there",         "about",       "third",       "could",        "black",         "white",
    "green",         "brown",       "rounded",     "angular",      "subangular",    "subrounded",
    "rocks",         "piece",       "pieces",      "lying",        "sitting",       "resting",
    "because",       "actually",    "moving",      "heading",      "reached",       "counted",
    "total",         "yellow",      "probably",    "possibly",     "maybe",         "smaller",
    "larger",        "bigger",      "little",      "another",      "before",        "behind",
    "brick",         "marble",      "afters",      "photographed", "measuring",     "longest",
    "count",         "dozen",       "single",      "negative",     "biggest",       "almost",
    "correct",       "fifth",       "tenth",       "depart",       "largest",       "crumb",
    "except",        "rubble",      "matrix",      "either",       "neither"};

// Words that rules ask for by themselves, beside those of the lexicon's phrases.
// clang-format off
constexpr std::string_view asked_for =
    "actual advised afternoon alongside already anyway anywhere basically batch beach believe "
    "beneath between blank botched broken built burst calling carries center centre checked "
    "cheers choice climbed climbing color colored colour coloured confident containing contains "
    "corrections couple crossed crust cutting decent definite degrees delaying descended "
    "descending different driving dropped dropping eighth eighths ended enter essentially "
    "estimate evening everybody examined extends fifths final floor folks forgot forgotten fourth "
    "frankly gained genuine group guessed halves having hello hereabouts higher highlight hiked "
    "hiking holding holds holed honestly hopping hours hundredth including information inside "
    "keeping kilometer kilometers kilometre kilometres label labels lacks later leaked leaking "
    "leaks legging lifting listen literally looks lower managed marched marching middle miles "
    "mislabeled mislabelled missed mixed motion muddled named naught nearby nearer needed "
    "needless nought obvious onward onwards outstanding pending places pocket popped positive "
    "postpone postponing proceeding proper proposed quick reach reaches removing reported reserve "
    "rested ripped roger route ruined safely saving scant scrambled scrambling seconds sediment "
    "settled shifting short sight since sixth skipped skipping slash small soaked solitary sorted "
    "spare speak split spoiled spoken square staggered stained staining stains stepped stray "
    "strolled strolling stuffed super tenths thank thanks theirs times together tomorrow "
    "transferring traversing trekked trekking trudged trudging twentieth twice understood "
    "unidentified unknown unreadable unused wandered wandering weighs whereas wound wrote young "
    "yours";
// clang-format on

// What the lexicon knows because recognisers write it; nobody means it.
constexpr std::array<std::string_view, 46> misheard{
    "ankle",  "apprx",       "barried",     "berried",  "berry", "burred",  "burried", "bury",
    "cant",   "cheese",      "crosson",     "crossun",  "dawn",  "ditty",   "downson", "fourty",
    "fower",  "goggles",     "golly",       "imbedded", "inchs", "leaning", "lieving", "milli",
    "milly",  "moastly",     "pare",        "pares",    "pear",  "pears",   "persent", "photobomb",
    "scent",  "sentimeters", "sentimetres", "sevin",    "sighs", "simple",  "sise",    "steer",
    "sterio", "sung",        "twenny",      "visor",    "mill",  "mills"};

}  // namespace

const NearWords& own_words() {
  static const NearWords words = [] {
    NearWords all;
    const auto take_each = [&](std::string_view text, int rank) {
      while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        if (std::ranges::find(misheard, word) == misheard.end()) all.add(word, rank);
        text.remove_prefix(std::min(end + 1, text.size()));
      }
    };
    for (const std::string_view word : trade) all.add(word, 1);
    for (const Phrase& phrase : phrases()) take_each(phrase.words, 2);
    take_each(asked_for, 3);
    return all;
  }();
  return words;
}

std::span<const std::string_view> trade_words() {
  return trade;
}

}  // namespace stonecall::reading
