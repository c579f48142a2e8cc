#include <algorithm>
#include <array>
#include <charconv>
#include <cstdlib>
#include <optional>
#include <utility>

#include "console/reading/draft.hpp"

namespace stonecall::reading {
namespace {

struct NumberWord {
  std::string_view word;
  int value;
};

constexpr std::array<NumberWord, 22> units{
    {{"zero", 0},  {"oh", 0},   {"nought", 0}, {"one", 1},   {"two", 2},    {"three", 3},
     {"four", 4},  {"five", 5}, {"six", 6},    {"seven", 7}, {"eight", 8},  {"nine", 9},
     {"niner", 9}, {"fife", 5}, {"tree", 3},   {"fower", 4}, {"naught", 0}, {"o", 0},
     {"sevin", 7}, {"ait", 8},  {"thre", 3},   {"fiv", 5}}};
constexpr std::array<NumberWord, 11> teens{{{"ten", 10},
                                            {"eleven", 11},
                                            {"twelve", 12},
                                            {"thirteen", 13},
                                            {"fourteen", 14},
                                            {"fifteen", 15},
                                            {"sixteen", 16},
                                            {"seventeen", 17},
                                            {"eighteen", 18},
                                            {"nineteen", 19},
                                            {"tin", 10}}};
constexpr std::array<NumberWord, 10> tens{{{"twenty", 20},
                                           {"thirty", 30},
                                           {"forty", 40},
                                           {"fourty", 40},
                                           {"fifty", 50},
                                           {"sixty", 60},
                                           {"seventy", 70},
                                           {"eighty", 80},
                                           {"ninety", 90},
                                           {"twenny", 20}}};
/// Sound like a digit; read as one only where a digit must stand.
constexpr std::array<NumberWord, 9> homophones{{{"to", 2},
                                                {"too", 2},
                                                {"for", 4},
                                                {"fore", 4},
                                                {"won", 1},
                                                {"ate", 8},
                                                {"sicks", 6},
                                                {"sex", 6},
                                                {"tu", 2}}};
constexpr std::array<std::pair<std::string_view, double>, 16> parts{{{"half", 0.5},
                                                                     {"halves", 0.5},
                                                                     {"third", 1.0 / 3},
                                                                     {"thirds", 1.0 / 3},
                                                                     {"quarter", 0.25},
                                                                     {"quarters", 0.25},
                                                                     {"fifth", 0.2},
                                                                     {"fifths", 0.2},
                                                                     {"sixth", 1.0 / 6},
                                                                     {"eighth", 0.125},
                                                                     {"eighths", 0.125},
                                                                     {"tenth", 0.1},
                                                                     {"tenths", 0.1},
                                                                     {"twentieth", 0.05},
                                                                     {"hundredth", 0.01},
                                                                     {"fourth", 0.25}}};

template <class Table>
std::optional<int> look_up(const Table& table, std::string_view word) {
  for (const auto& entry : table) {
    if (entry.word == word) return entry.value;
  }
  return std::nullopt;
}

std::optional<double> part_of(std::string_view word) {
  for (const auto& [name, value] : parts) {
    if (name == word) return value;
  }
  return std::nullopt;
}

int unit_value(std::string_view word) {
  if (word.ends_with("'s")) word.remove_suffix(2);
  if (const auto unit = look_up(units, word)) return *unit;
  // "sixty ones after picture": the apostrophe was not heard
  if (word.ends_with('s')) word.remove_suffix(1);
  return look_up(units, word).value_or(0);
}

/// Before "one" these make it a pronoun: "that one", "the odd one".
bool makes_pronoun(std::string_view word) {
  static constexpr std::array<std::string_view, 24> before{
      "that",  "this",    "the",   "last",   "big",  "small", "each", "every",
      "which", "another", "no",    "next",   "odd",  "first", "good", "other",
      "same",  "white",   "black", "little", "nice", "pale",  "only", "large"};
  return std::find(before.begin(), before.end(), word) != before.end();
}

class Itemiser {
 public:
  Itemiser(const Matcher& matcher, const std::vector<Token>& tokens)
      : matcher_(matcher), tokens_(tokens) {}

  std::vector<Item> run() {
    items_.reserve(tokens_.size());
    while (at_ < tokens_.size()) step();
    join_digits();
    number_clauses();
    return std::move(items_);
  }

 private:
  const Token& token(std::size_t i) const {
    static const Token none{Token::Kind::mark, "", {}};
    return i < tokens_.size() ? tokens_[i] : none;
  }
  bool word(std::size_t i, std::string_view text) const {
    return token(i).kind == Token::Kind::word && token(i).text == text;
  }
  Matcher::Match match(std::size_t i) const { return matcher_.longest(tokens_, i); }
  bool sense_at(std::size_t i, Sense sense) const {
    const auto found = match(i);
    return found.meaning && found.meaning->kind == Meaning::Kind::sense &&
           found.meaning->sense == sense;
  }

  static bool rock(const Matcher::Match& match) {
    return match.meaning && (match.meaning->kind == Meaning::Kind::rock ||
                             match.meaning->kind == Meaning::Kind::rock_head);
  }
  static bool station(const Matcher::Match& match) {
    return match.meaning && match.meaning->kind == Meaning::Kind::station;
  }

  /// Of a phrase of two words here: what stands around shows that it is none.
  bool comes_apart(const Meaning& meaning) const {
    static const Item none;
    const Item& before = items_.empty() ? none : items_.back();
    // "stereo taken for forty three": taken, and of which; not mistaken
    if (word(at_, "taken") && word(at_ + 1, "for"))
      return before.is(Sense::stereo) || before.is(Sense::down_sun) || before.is(Sense::after) ||
             before.is(Sense::after_weak) || before.is(Sense::pair) || before.is(Sense::photo);
    // "one of them granite": a count
    if (word(at_, "one") && word(at_ + 1, "of"))
      return word(at_ + 2, "them") || word(at_ + 2, "these") || word(at_ + 2, "those") ||
             rock(match(at_ + 2));
    // "one out of ten": no number that is one out
    if (word(at_, "one") && word(at_ + 1, "out")) return word(at_ + 2, "of");
    // "from quarter to third": no time of day
    if (word(at_, "quarter") && word(at_ + 1, "to")) {
      const std::size_t other = word(at_ + 2, "a") ? at_ + 3 : at_ + 2;
      return token(other).kind == Token::Kind::word && part_of(token(other).text);
    }
    // "about to inches": about two
    if (word(at_, "about") && word(at_ + 1, "to")) return sense_at(at_ + 2, Sense::unit);
    if (meaning.kind != Meaning::Kind::sense) return false;
    // "under the ridge": the article is of the name
    if (word(at_ + 1, "the") && station(match(at_ + 1))) return true;
    // "this sample four": the number is its own
    if (meaning.sense == Sense::one && word(at_ + 1, "sample")) return cardinal(at_ + 2).tokens > 0;
    // "tuff is the other thirty": only at the beginning does "is the" ask
    return meaning.sense == Sense::asks && (word(at_, "is") || word(at_, "are")) &&
           (before.rock() || before.number() || before.kind == Item::Kind::station ||
            before.is(Sense::bag) || before.is(Sense::sample));
  }

  void step() {
    if (token(at_).kind == Token::Kind::mark) {
      const std::string& mark = token(at_).text;
      push(Item::Kind::mark, 1).text = mark;
      return;
    }
    Matcher::Match found = match(at_);
    // "at the pan edge": the longer name, where "the pan" is one too
    if (station(found) && found.tokens > 1 && word(at_, "the")) {
      const Matcher::Match inner = match(at_ + 1);
      if (station(inner) && inner.tokens + 1 > found.tokens)
        found = matcher_.longest(std::span(tokens_).first(at_ + 1), at_);
    }
    // "brick sized", where "brick earth" is a kind
    if (found.meaning && found.tokens == 1 &&
        (found.meaning->kind == Meaning::Kind::rock_modifier ||
         found.meaning->kind == Meaning::Kind::rock_head) &&
        (word(at_ + 1, "sized") || word(at_ + 1, "size"))) {
      const auto& all = phrases();
      const auto thing = std::ranges::find_if(all, [&](const Phrase& phrase) {
        return phrase.sense == Sense::compare && phrase.words == token(at_).text;
      });
      if (thing != all.end()) {
        Item& item = push(Item::Kind::word, 1);
        item.sense = Sense::compare;
        item.low = thing->low;
        item.high = thing->high;
        item.text = thing->words;
        return;
      }
    }
    // "not one twenty one", "pumice is one in ten": the "one" begins a number.
    const std::size_t behind = at_ + found.tokens;
    if (found.tokens > 1 && word(behind - 1, "one") &&
        found.meaning->kind == Meaning::Kind::sense &&
        (below_hundred(behind).tokens || word(behind, "hundred") ||
         (word(behind, "in") &&
          (below_hundred(behind + 1).tokens || word(behind + 2, "hundred"))))) {
      found = matcher_.longest(std::span(tokens_).first(at_ + found.tokens - 1), at_);
    }
    // "maybe a third", "under a fifth": the "a" begins a fraction
    if (found.tokens > 1 && word(behind - 1, "a") && found.meaning->kind == Meaning::Kind::sense &&
        token(behind).kind == Token::Kind::word && part_of(token(behind).text))
      found = matcher_.longest(std::span(tokens_).first(at_ + found.tokens - 1), at_);
    // "taking sample four", "got bag nine": the label is the number's
    if (found.tokens > 1 && found.meaning->kind == Meaning::Kind::sense &&
        (word(behind - 1, "sample") || word(behind - 1, "bag")) &&
        found.meaning->sense != Sense::sample && found.meaning->sense != Sense::bag &&
        found.meaning->sense != Sense::idiom && cardinal(behind).tokens > 0)
      found = matcher_.longest(std::span(tokens_).first(at_ + found.tokens - 1), at_);
    if (found.tokens == 2 && comes_apart(*found.meaning))
      found = matcher_.longest(std::span(tokens_).first(at_ + 1), at_);
    if (found.tokens <= 1 && read_number(found)) return;
    // "eight where limestone": a verb, where a count stands before it
    if (word(at_, "where") && !items_.empty() && items_.back().number()) {
      Item& verb = push(Item::Kind::word, 1);
      verb.sense = Sense::is;
      verb.text = "were";
      return;
    }
    if (!found.meaning) {
      const std::string& text = token(at_).text;
      push(Item::Kind::word, 1).text = text;
      return;
    }
    add(*found.meaning, found.tokens);
  }

  Item& push(Item::Kind kind, std::size_t count) {
    Item item;
    item.kind = kind;
    item.words = {token(at_).words.begin, token(at_ + count - 1).words.end};
    at_ += count;
    items_.push_back(std::move(item));
    return items_.back();
  }

  void add(const Meaning& meaning, std::size_t count) {
    std::string text = token(at_).text;
    for (std::size_t i = 1; i < count; ++i) text += " " + token(at_ + i).text;
    using Of = Meaning::Kind;
    switch (meaning.kind) {
      case Of::sense: {
        Item& item = push(Item::Kind::word, count);
        item.sense = meaning.sense;
        item.low = meaning.low;
        item.high = meaning.high;
        item.text = std::move(text);
        // "that last one's granite"
        if (item.is(Sense::one) && item.text.ends_with("'s"))
          item.text.resize(item.text.size() - 2);
        return;
      }
      case Of::rock:
      case Of::rock_head:
      case Of::rock_modifier: {
        Item& item = push(Item::Kind::rock, count);
        item.index = meaning.index;
        item.weak = meaning.kind != Of::rock;
        item.digit = meaning.kind == Of::rock_modifier;
        item.text = std::move(text);
        return;
      }
      case Of::station:
      case Of::station_part: {
        Item& item = push(
            meaning.kind == Of::station ? Item::Kind::station : Item::Kind::station_part, count);
        item.index = meaning.index;
        item.text = std::move(text);
        return;
      }
    }
  }

  struct Spoken {
    double value = 0;
    std::string digits;
    std::size_t tokens = 0;  ///< 0: no number here
    bool digit = false;
    bool round_tens = false;
  };

  Spoken below_hundred(std::size_t i) const {
    if (token(i).kind != Token::Kind::word) return {};
    std::string_view text = token(i).text;
    if (text.ends_with("'s")) text.remove_suffix(2);  // "seventeen's bag"
    if (const auto value = look_up(tens, text)) {
      const int unit = token(i + 1).kind == Token::Kind::word ? unit_value(token(i + 1).text) : 0;
      // "thirty two thirds buried", but "thirty seven quarter buried"
      const auto part = token(i + 2).kind == Token::Kind::word ? part_of(token(i + 2).text)
                                                               : std::optional<double>();
      const bool part_follows = part && token(i + 2).text != "half" && unit * *part <= 1 &&
                                (unit == 1) != token(i + 2).text.ends_with("s");
      if (unit > 0 && !part_follows) return whole(*value + unit, 2, false, false);
      return whole(*value, 1, false, true);
    }
    if (const auto value = look_up(teens, text)) return whole(*value, 1, false, true);
    if (const auto value = look_up(units, text)) return whole(*value, 1, true, false);
    return {};
  }

  static Spoken whole(int value, std::size_t count, bool digit, bool round_tens) {
    return {static_cast<double>(value), std::to_string(value), count, digit, round_tens};
  }

  Spoken cardinal(std::size_t i) const {
    if (token(i).kind == Token::Kind::digits) {
      std::string text = token(i).text;
      if (text.ends_with("'s")) text.resize(text.size() - 2);
      const double value = text.size() > 12 ? 1e12 : std::strtod(text.c_str(), nullptr);
      return {value, text, 1, text.size() == 1, false};
    }
    if ((word(i, "a") || word(i, "one")) && word(i + 1, "hundred")) return hundreds(i, 2, 1);
    if (word(i, "hundred")) return hundreds(i, 1, 1);
    if (word(i, "half") && word(i + 1, "a") && word(i + 2, "dozen"))
      return whole(6, 3, false, false);
    if ((word(i, "a") || word(i, "one")) && word(i + 1, "dozen")) return whole(12, 2, false, false);
    if (word(i, "dozen")) return whole(12, 1, false, false);
    if (word(i, "a") && word(i + 1, "couple"))
      return whole(2, word(i + 2, "of") ? 3 : 2, false, false);
    if (word(i, "couple")) return whole(2, word(i + 1, "of") ? 2 : 1, false, false);
    if (word(i, "double") && token(i + 1).kind == Token::Kind::word) {
      if (const auto unit = look_up(units, token(i + 1).text)) {
        Spoken twice = whole(*unit * 11, 2, false, false);
        twice.digits = std::to_string(*unit) + std::to_string(*unit);
        return twice;
      }
    }
    if (token(i).kind == Token::Kind::word &&
        word(i + 1, "hundred")) {  // "bag for hundred and one"
      if (const auto times = look_up(homophones, token(i).text)) return hundreds(i, 2, *times);
    }
    const Spoken small = below_hundred(i);
    if (small.tokens && word(i + small.tokens, "hundred"))
      return hundreds(i, small.tokens + 1, static_cast<int>(small.value));
    if (small.tokens && word(i + small.tokens, "dozen"))
      return whole(12 * static_cast<int>(small.value), small.tokens + 1, false, false);
    return small;
  }

  Spoken hundreds(std::size_t i, std::size_t count, int times) const {
    std::size_t next = i + count;
    if (word(next, "and")) ++next;
    Spoken rest = below_hundred(next);
    // "two hundred and two oh one": another number begins
    if (rest.digit && word(next - 1, "and") &&
        (word(next + 1, "oh") || word(next + 1, "zero") || word(next + 1, "hundred")))
      rest = {};
    if (!rest.tokens) return whole(100 * times, count, false, false);
    return whole(100 * times + static_cast<int>(rest.value), next + rest.tokens - i, false, false);
  }

  /// Whether a word that sounds like a digit must be one: "for inches", "bag fifty too", "sample
  /// won".
  bool must_be_digit(std::size_t i) const {
    if (token(i).kind != Token::Kind::word || !look_up(homophones, token(i).text)) return false;
    const std::string& text = token(i).text;
    const bool preposition = text == "to" || text == "for" || text == "too";
    if (counts_next(i, preposition)) return true;
    const bool unit_follows = sense_at(i + 1, Sense::unit) && !word(i + 1, "in") &&
                              !word(i + 1, "foot") && !word(i + 1, "m");
    const Item* before = items_.empty() ? nullptr : &items_.back();
    if (unit_follows && !(before && before->number())) return true;
    const bool labelled = before && (before->is(Sense::bag) || before->is(Sense::sample) ||
                                     before->is(Sense::number));
    const bool label_goes_on =
        in_label() && before->number() && (before->round_tens || before->digit);
    if (!labelled && !label_goes_on) return false;
    if (!preposition) return true;
    if (labelled && before->text != "bag" && before->text != "sample" && !before->is(Sense::number))
      return false;
    if (token(i + 1).kind == Token::Kind::digits) return label_goes_on;  // "bag for 106"
    if (token(i + 1).kind != Token::Kind::word)
      return text != "for" || label_goes_on || labelled;  // at the end, or a comma
    if (text == "too") return true;
    const auto next = match(i + 1);
    const bool names_follow = next.meaning && next.meaning->kind == Meaning::Kind::rock;
    if (names_follow) return labelled || text == "to";
    if (next.meaning && next.meaning->kind == Meaning::Kind::sense) {
      const Sense sense = next.meaning->sense;
      if (sense == Sense::compare || sense == Sense::colour || sense == Sense::bag ||
          sense == Sense::stereo || sense == Sense::down_sun || sense == Sense::texture) {
        return true;
      }
      if (label_goes_on && sense == Sense::asks) return true;  // "bag forty for is the arkose"
      // A preposition has an object behind it: no verb, no "and", no "loose".
      if (label_goes_on &&
          (sense == Sense::is || sense == Sense::restart || sense == Sense::burial ||
           sense == Sense::buried || sense == Sense::loose || sense == Sense::shape ||
           sense == Sense::conj || sense == Sense::but || sense == Sense::filler))
        return true;
    }
    if (label_goes_on && before->round_tens && part_of(token(i + 1).text)) return true;
    // "bag one for one": digits on both sides.
    return label_goes_on && before->digit && below_hundred(i + 1).digit;
  }

  /// "won chert", "eight gneiss too schist": a count of rocks. Of prepositions only where the list
  /// of counts has begun and a kind stands before.
  bool counts_next(std::size_t i, bool preposition) const {
    const auto next = match(i + 1);
    const bool kind = next.meaning && next.meaning->kind == Meaning::Kind::rock;
    const bool verb = word(i + 1, "were") || word(i + 1, "where") || word(i + 1, "are");
    if (!kind && !verb) return false;
    if (!preposition && kind) return true;
    if (items_.size() < 2) return false;
    const std::size_t last = items_.back().mark() ? items_.size() - 2 : items_.size() - 1;
    if (!items_[last].rock() && !matcher_.everyday_word(items_[last].text)) return false;
    for (std::size_t k = last; k > 0 && k + 4 > last; --k) {
      if (items_[k - 1].number()) return true;
    }
    return false;
  }

  /// Whether the items before make up a label so far: "bag one oh".
  bool in_label() const {
    for (std::size_t back = items_.size(); back-- > 0;) {
      const Item& item = items_[back];
      if (item.number()) continue;
      return item.is(Sense::bag) || item.is(Sense::sample) || item.is(Sense::number);
    }
    return false;
  }

  bool read_number(const Matcher::Match& found) {
    if (found.meaning && found.meaning->kind != Meaning::Kind::sense) return false;
    if (read_fraction()) return true;
    if (must_be_digit(at_)) {
      const int value = *look_up(homophones, token(at_).text);
      if (in_label() && items_.back().number() && items_.back().round_tens &&
          items_.back().low >= 20) {
        Item& whole_number = items_.back();
        whole_number.low += value;
        whole_number.text = std::to_string(static_cast<int>(whole_number.low));
        whole_number.words.end = token(at_).words.end;
        whole_number.round_tens = false;
        ++at_;
        return true;
      }
      Item& item = push(Item::Kind::number, 1);
      item.low = value;
      item.text = std::to_string(value);
      item.digit = true;
      return true;
    }
    // "point eight metres"
    if (word(at_, "point") && below_hundred(at_ + 1).digit && sense_at(at_ + 2, Sense::unit) &&
        (items_.empty() || !items_.back().number())) {
      const double tenths = below_hundred(at_ + 1).value / 10;
      push(Item::Kind::number, 2).low = tenths;
      return true;
    }
    Spoken spoken = cardinal(at_);
    if (!spoken.tokens) return false;
    // "zero point five metres", "zero eight thirty one": a figure, and a time of day
    const bool decimal = (word(at_ + 1, "point") && below_hundred(at_ + 2).digit) ||
                         (below_hundred(at_ + 1).digit && below_hundred(at_ + 2).tokens > 0);
    if (!decimal && (word(at_, "oh") || word(at_, "o") || word(at_, "zero"))) {
      const bool after_digit = !items_.empty() && items_.back().number() &&
                               (items_.back().digit || items_.back().round_tens);
      // "oh" may also be a sigh, "zero" is always a figure: "one one zero".
      const bool goes_on = word(at_, "zero") || below_hundred(at_ + 1).tokens ||
                           token(at_ + 1).kind == Token::Kind::digits;
      // "goes in two one oh": two digits before it
      const bool third = after_digit && items_.back().digit && items_.size() >= 2 &&
                         items_[items_.size() - 2].number() && items_[items_.size() - 2].digit;
      if (!in_label() && !(after_digit && goes_on) && !third) return false;
    }
    if (word(at_, "tree") || word(at_, "tin")) {
      if (!in_label()) return false;
    }
    if (word(at_, "one") && spoken.tokens == 1 && pronoun()) return false;
    const std::size_t next = at_ + spoken.tokens;
    if (word(next, "point") &&
        (token(next + 1).kind == Token::Kind::digits || below_hundred(next + 1).digit)) {
      const Spoken decimals = cardinal(next + 1);
      spoken.value += decimals.value / 10;
      spoken.tokens += 2;
      spoken.digit = false;
    } else if (word(next, "and") && word(next + 1, "a") && word(next + 2, "half")) {
      spoken.value += 0.5;
      spoken.tokens += 3;
      spoken.digit = false;
    } else if (word(next, "and") && word(next + 1, "a") && word(next + 2, "quarter")) {
      spoken.value += 0.25;
      spoken.tokens += 3;
      spoken.digit = false;
    } else if (word(next, "half") && token(next).words.begin == token(next - 1).words.end) {  // 3½
      spoken.value += 0.5;
      spoken.tokens += 1;
      spoken.digit = false;
    }
    const bool possessive = token(at_ + spoken.tokens - 1).text.ends_with("'s");
    Item& item = push(Item::Kind::number, spoken.tokens);
    item.possessive = possessive;
    item.low = spoken.value;
    item.text = spoken.digits;
    item.digit = spoken.digit;
    item.round_tens = spoken.round_tens;
    return true;
  }

  bool pronoun() const {
    if (items_.empty() || items_.back().kind != Item::Kind::word) return false;
    if (in_label()) return false;
    // "it hasn't got one"
    if (token(at_ + 1).kind == Token::Kind::mark &&
        (items_.back().is(Sense::seen) ||
         items_.back().any_of({"take", "took", "want", "need", "getting", "do", "with", "like"})))
      return true;
    const std::string& before = items_.back().text;
    const std::size_t space = before.rfind(' ');
    if (makes_pronoun(space == std::string::npos ? before : before.substr(space + 1))) return true;
    // "a finer one": an adjective behind its article
    return items_.size() >= 2 && items_[items_.size() - 2].any_of({"a", "an", "the", "another"}) &&
           (items_.back().sense == Sense::none || items_.back().is(Sense::texture) ||
            items_.back().is(Sense::colour) || items_.back().is(Sense::shape));
  }

  /// "half", "a third", "two thirds", "three quarters", "3/4".
  bool read_fraction() {
    if (word(at_, "half") && word(at_ + 1, "a") && word(at_ + 2, "dozen")) return false;
    if (word(at_, "three-quarters")) return fraction(0.75, 1);
    if (word(at_, "two-thirds")) return fraction(2.0 / 3, 1);
    if (token(at_).kind == Token::Kind::digits && word(at_ + 1, "slash") &&
        token(at_ + 2).kind == Token::Kind::digits) {
      const double above = cardinal(at_).value;
      const double below = cardinal(at_ + 2).value;
      if (above > 0 && below > above && below <= 20) return fraction(above / below, 3);
      return false;
    }
    if (token(at_).kind == Token::Kind::mark) return false;
    if (const auto part = part_of(token(at_).text)) {
      // "from quarter to third"
      if (items_.size() >= 2 && items_.back().any_of({"to", "or", "and"}) &&
          items_[items_.size() - 2].kind == Item::Kind::fraction)
        return fraction(*part, 1);
      // "third" and "fourth" alone are places in a row.
      if (*part == 0.5 || token(at_).text == "quarter") return fraction(*part, 1);
      return false;
    }
    // "the last tenth is peg"
    const bool part_left = word(at_, "last") || word(at_, "remaining") || word(at_, "final");
    if (part_left && token(at_ + 1).kind == Token::Kind::word &&
        (word(at_ + 2, "is") || word(at_ + 2, "are") || word(at_ + 2, "was"))) {
      if (const auto part = part_of(token(at_ + 1).text)) return fraction(*part, 2);
    }
    const bool article = word(at_, "a") || word(at_, "one") || word(at_, "an");
    if (article && token(at_ + 1).kind == Token::Kind::word) {
      if (const auto part = part_of(token(at_ + 1).text)) return fraction(*part, 2);
      // "a good third"
      const bool adjective = word(at_ + 1, "good") || word(at_ + 1, "bare") ||
                             word(at_ + 1, "full") || word(at_ + 1, "scant");
      const auto after = adjective && token(at_ + 2).kind == Token::Kind::word
                             ? part_of(token(at_ + 2).text)
                             : std::nullopt;
      if (after) return fraction(*after, 3);
      return false;
    }
    const Spoken times =
        token(at_).kind == Token::Kind::digits ? cardinal(at_) : below_hundred(at_);
    if (times.tokens == 1 && times.value >= 2 && token(at_ + 1).kind == Token::Kind::word) {
      const auto part = part_of(token(at_ + 1).text);
      if (part && token(at_ + 1).text.ends_with("s") && times.value * *part <= 1)
        return fraction(times.value * *part, 2);
    }
    return false;
  }

  bool fraction(double value, std::size_t count) {
    Item& item = push(Item::Kind::fraction, count);
    item.low = value;
    return true;
  }

  bool joins(std::size_t i) const {
    return i < items_.size() && items_[i].number() && !items_[i].possessive;
  }
  bool one_figure(std::size_t i) const { return joins(i) && items_[i].text.size() == 1; }

  /// Last item of a number that is spelt from item i on: "one eight zero", "one ten"; i: none.
  std::size_t spelt(std::size_t i) const {
    if (!one_figure(i) || items_[i].text == "0") return i;
    std::size_t last = i;
    while (last - i < 3 && one_figure(last + 1)) ++last;
    const bool tail = last - i <= 1 && joins(last + 1) && items_[last + 1].text.size() == 2 &&
                      items_[last + 1].low >= 10;
    if (tail) ++last;
    return joins(last + 1) ? i : last;
  }

  /// What is measured may be spelt as numbers of bags are: "one eight zero by one ten mil", "four
  /// zero percent"; so may counts and shares that follow their kinds: "psammite one one, schist
  /// six".
  void join_digits() {
    const bool labelled = std::ranges::any_of(items_, [](const Item& item) {
      return item.is(Sense::bag) || item.is(Sense::sample) || item.is(Sense::number);
    });
    int behind_kinds = 0;
    for (std::size_t i = 1; i < items_.size(); ++i)
      behind_kinds += items_[i - 1].rock() && joins(i) ? 1 : 0;
    const Item none{};
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const std::size_t last = spelt(i);
      if (last == i) continue;
      const Item& before = i > 0 ? items_[i - 1] : none;
      const Item& after = last + 1 < items_.size() ? items_[last + 1] : none;
      const bool measured =
          after.is(Sense::unit) || after.is(Sense::percent) || after.is("by") || before.is("by");
      const bool of_label = before.is(Sense::bag) || before.is(Sense::sample) ||
                            before.is(Sense::number) || before.number();
      const bool of_kind = before.rock() && !labelled && behind_kinds >= 2 && last == i + 1 &&
                           (after.kind == Item::Kind::mark || last + 1 == items_.size() ||
                            after.rock() || after.is(Sense::conj));
      // "three zero clasts": how many were looked at
      const bool of_pieces = !of_label && !labelled && last == i + 1 && after.is(Sense::piece) &&
                             after.text.ends_with("s");
      if (!(measured && !of_label) && !of_kind && !of_pieces) continue;
      Item& whole = items_[i];
      for (std::size_t k = i + 1; k <= last; ++k) whole.text += items_[k].text;
      whole.low = std::atoi(whole.text.c_str());
      whole.words.end = items_[last].words.end;
      whole.digit = false;
      items_.erase(items_.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                   items_.begin() + static_cast<std::ptrdiff_t>(last) + 1);
    }
  }

  void number_clauses() {
    int sentence = 0;
    int clause = 0;
    for (Item& item : items_) {
      if (item.is(Sense::but)) ++clause;
      item.sentence = sentence;
      item.clause = clause;
      if (item.kind != Item::Kind::mark) continue;
      ++clause;
      if (!item.comma()) ++sentence;
    }
  }

  const Matcher& matcher_;
  const std::vector<Token>& tokens_;
  std::size_t at_ = 0;
  std::vector<Item> items_;
};

}  // namespace

std::vector<Item> itemise(const Matcher& matcher, const std::vector<Token>& tokens) {
  return Itemiser(matcher, tokens).run();
}

namespace {

/// How many of the digits spoken from item i on make one number: of "two one five two one four"
/// three, where the numbers go on with ones of three digits; else four at most.
std::size_t digits_of_one(const Draft& draft, Draft::At i) {
  constexpr std::size_t most = 4;
  std::string run;
  for (Draft::At k = i; draft.at(k).digit && !draft.at(k).used; ++k) run += draft.at(k).text;
  for (const std::string* last : {&draft.context.last_bag, &draft.context.last_sample}) {
    const std::size_t width = last->size();
    if (width >= 2 && run.size() >= 2 * width && in_series(run.substr(0, width), *last))
      return width;
  }
  return most;
}

}  // namespace

Label read_label(const Draft& draft, Draft::At i) {
  const auto measures = [&](Draft::At k) {
    const Item& after = draft.at(k + 1);
    return after.is(Sense::unit) || after.is(Sense::percent) ||
           (after.is("by") && draft.at(k + 2).number());
  };
  const auto plain = [&](Draft::At k) {
    const Item& item = draft.at(k);
    return item.number() && !item.used && item.text.find('.') == std::string::npos &&
           item.text.size() <= 6 && !measures(k) &&
           item.low == static_cast<double>(std::atoi(item.text.c_str()));
  };
  const auto continues = [&](const std::string& digits) {
    return digits.size() >= 3 && (in_series(digits, draft.context.last_bag) ||
                                  in_series(digits, draft.context.last_sample));
  };
  if (!plain(i)) return {};
  Label label{draft.at(i).text, i};
  const auto take = [&](Draft::At k) {
    label.digits += draft.at(k).text;
    label.last = k;
  };
  if (draft.at(i).digit) {
    const std::size_t longest = digits_of_one(draft, i);
    while (label.digits.size() < longest && draft.at(label.last + 1).digit &&
           !draft.at(label.last + 1).used &&
           (plain(label.last + 1) || continues(label.digits + draft.at(label.last + 1).text)))
      take(label.last + 1);
    const Item& next = draft.at(label.last + 1);
    // "bag four twelve foot and a half across": what goes on with the numbering is no measure.
    const bool goes_on = next.number() && !next.used && continues(label.digits + next.text);
    const bool tail = label.digits.size() <= 2 && (plain(label.last + 1) || goes_on) &&
                      next.text.size() == 2 && !next.digit;
    if (tail && draft.at(label.last + 1).words.begin - draft.at(label.last).words.end <= 2)
      take(label.last + 1);
  } else if (draft.at(i).round_tens && draft.at(i + 1).text == "0") {
    while (label.digits.size() < 4 && plain(label.last + 1) && draft.at(label.last + 1).digit)
      take(label.last + 1);
  }
  const std::size_t leading =
      std::min(label.digits.find_first_not_of('0'), label.digits.size() - 1);
  label.digits.erase(0, leading);
  return label;
}

bool in_series(std::string_view digits, std::string_view last) {
  return digits.size() == last.size() && goes_on_from(digits, last);
}

bool goes_on_from(std::string_view digits, std::string_view last) {
  constexpr int back = 4;
  constexpr int ahead = 8;
  int number = 0;
  int previous = 0;
  const auto read = [](std::string_view text, int& value) {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc{} && end == text.data() + text.size();
  };
  if (!read(digits, number) || !read(last, previous)) return false;
  return number >= previous - back && number <= previous + ahead;
}

}  // namespace stonecall::reading
