#include "console/reading/motion.hpp"

#include <algorithm>
#include <initializer_list>
#include <string_view>

namespace stonecall::reading {

Way way_of(const Item& item) {
  if (item.kind != Item::Kind::word) return Way::none;
  if (item.is(Sense::toward)) return Way::toward;
  std::string_view text = item.text;
  if (text.ends_with(" the") || text.ends_with(" a")) text = text.substr(0, text.rfind(' '));
  const std::string_view last = text.substr(text.rfind(' ') + 1);
  if (text.starts_with("on top")) return Way::located;
  if (text == "far") return Way::toward;  // "as far as"
  const auto is = [&](std::initializer_list<std::string_view> words) {
    return std::ranges::find(words, last) != words.end();
  };
  if (is({"from", "off"}) || item.any_of({"out of", "clear of"})) return Way::from;
  if (is({"to", "for", "towards", "toward", "into", "onto"})) return Way::toward;
  if (is({"at", "on", "in", "by", "under", "below", "above", "beside", "inside", "underneath",
          "against", "atop", "beneath", "alongside"}))
    return Way::located;
  return Way::none;
}

bool is_particle(const Item& item) {
  return item.is(Sense::determiner) || item.is(Sense::now) || item.is(Sense::filler) ||
         item.is(Sense::preposition) ||
         item.any_of({"up",    "down",   "over",    "across",   "along",  "out",       "back",
                      "round", "around", "through", "straight", "right",  "just",      "only",
                      "all",   "both",   "here",    "already",  "safely", "ourselves", "again",
                      "still", "edge",   "foot",    "top",      "bottom", "shore",     "side",
                      "rim",   "lip",    "brow",    "crest",    "middle", "centre",    "center",
                      "as",    "far",    "near",    "way",      "there",  "together",  "everyone",
                      "us",    "it"});
}

bool is_party(const Item& item) {
  return item.any_of({"we",      "i",    "we've", "i've",     "we have",   "i have", "we're",
                      "we are",  "i'm",  "i am",  "us",       "that's us", "that's", "that is",
                      "party",   "team", "crew",  "everyone", "everybody", "both",   "all",
                      "finally", "just", "have",  "having"});
}

Motion motion_of(const Item& item) {
  if (item.is(Sense::leave) && item.text.find("ing") != std::string::npos) return Motion::going;
  if (item.kind != Item::Kind::word) return Motion::none;
  // "we've got", "got ourselves"
  std::string_view verb = std::string_view(item.text).substr(0, item.text.find(' '));
  if (verb.starts_with("we") || verb.starts_with("i'"))
    verb = std::string_view(item.text).substr(item.text.rfind(' ') + 1);
  const auto is = [&](std::initializer_list<std::string_view> words) {
    return std::ranges::find(words, verb) != words.end();
  };
  if (is({"go",         "head",       "heading",      "proceeding", "going",    "moving",
          "walking",    "hiking",     "climbing",     "dropping",   "crossing", "driving",
          "trekking",   "scrambling", "cutting",      "pushing",    "pressing", "carrying",
          "marching",   "wandering",  "strolling",    "shifting",   "hopping",  "trudging",
          "continuing", "traversing", "transferring", "descending", "away",     "bound",
          "legging"}))
    return Motion::going;
  if (is({"walked",  "came",    "come",    "got",       "climbed",  "dropped",   "hiked",
          "pulled",  "rolled",  "drove",   "scrambled", "wandered", "descended", "moved",
          "landed",  "stopped", "made",    "ended",     "wound",    "fetched",   "settled",
          "trudged", "trekked", "stepped", "staggered", "gained",   "marched",   "crossed",
          "arrived", "turned",  "parked",  "strolled",  "set"}))
    return Motion::over;
  return Motion::none;
}

}  // namespace stonecall::reading
