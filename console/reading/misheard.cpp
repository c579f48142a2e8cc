#include "console/reading/misheard.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <string_view>
#include <utility>

namespace stonecall::reading {
namespace {

template <class Words>
bool one_of(const Words& words, std::string_view word) {
  return std::ranges::find(words, word) != words.end();
}

constexpr auto verbs_behind = std::to_array<std::string_view>(
    {"say",      "guess", "put",   "call", "go",  "reckon",  "like", "love",
     "disagree", "get",   "do",    "take", "bag", "be",      "grab", "photograph",
     "pick",     "head",  "leave", "look", "try", "estimate"});
/// "Well put it this way": an opener before these.
constexpr auto verbs_of_opinion =
    std::to_array<std::string_view>({"say", "guess", "put", "call", "reckon", "like", "love",
                                     "disagree", "look", "be", "estimate"});

constexpr auto tens = std::to_array<std::string_view>(
    {"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"});
constexpr auto digits = std::to_array<std::string_view>(
    {"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "oh", "zero"});
constexpr auto parts = std::to_array<std::string_view>(
    {"third", "thirds", "quarter", "quarters", "fifth", "fifths", "tenth", "tenths", "half"});
constexpr auto measures = std::to_array<std::string_view>(
    {"percent", "inch", "inches", "cm", "centimetre", "centimetres", "centimeters", "foot", "feet",
     "metre", "metres", "millimetres", "millimeters", "mm"});
constexpr auto verbs_of_being = std::to_array<std::string_view>({"is", "are", "was", "were"});

std::string_view number_like(std::string_view word) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 8> pairs{
      {{"to", "two"},
       {"too", "two"},
       {"tu", "two"},
       {"for", "four"},
       {"fore", "four"},
       {"won", "one"},
       {"ate", "eight"},
       {"sicks", "six"}}};
  const auto found =
      std::ranges::find_if(pairs, [&](const auto& pair) { return pair.first == word; });
  return found == pairs.end() ? std::string_view() : found->second;
}

bool is_number(std::string_view word) {
  return one_of(digits, word) || one_of(tens, word) ||
         (!word.empty() && word[0] >= '0' && word[0] <= '9');
}

}  // namespace

/// Recognisers often leave apostrophes out: "whats", "dont", "were off".
void restore_apostrophes(std::vector<Token>& tokens) {
  static const std::map<std::string_view, std::string_view> full{{"whats", "what's"},
                                                                 {"hows", "how's"},
                                                                 {"wheres", "where's"},
                                                                 {"whos", "who's"},
                                                                 {"thats", "that's"},
                                                                 {"theres", "there's"},
                                                                 {"heres", "here's"},
                                                                 {"weve", "we've"},
                                                                 {"ive", "i've"},
                                                                 {"im", "i'm"},
                                                                 {"dont", "don't"},
                                                                 {"doesnt", "doesn't"},
                                                                 {"didnt", "didn't"},
                                                                 {"isnt", "isn't"},
                                                                 {"wasnt", "wasn't"},
                                                                 {"arent", "aren't"},
                                                                 {"werent", "weren't"},
                                                                 {"havent", "haven't"},
                                                                 {"hasnt", "hasn't"},
                                                                 {"hadnt", "hadn't"},
                                                                 {"cant", "can't"},
                                                                 {"couldnt", "couldn't"},
                                                                 {"wouldnt", "wouldn't"},
                                                                 {"wont", "won't"},
                                                                 {"shouldnt", "shouldn't"},
                                                                 {"lets", "let's"},
                                                                 {"youre", "you're"},
                                                                 {"theyre", "they're"},
                                                                 {"theyve", "they've"},
                                                                 {"itll", "it'll"},
                                                                 {"thatll", "that'll"},
                                                                 {"youve", "you've"},
                                                                 {"everythings", "everything's"},
                                                                 {"whatevers", "whatever's"},
                                                                 {"shouldve", "should've"},
                                                                 {"wouldve", "would've"},
                                                                 {"couldve", "could've"},
                                                                 {"hes", "he's"},
                                                                 {"shes", "she's"},
                                                                 {"youll", "you'll"},
                                                                 {"theyll", "they'll"}};
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    Token& token = tokens[i];
    if (token.kind != Token::Kind::word) continue;
    if (const auto found = full.find(token.text); found != full.end()) token.text = found->second;
    // "id say", "ill get", "well take": what follows shows that two words were one
    if (i + 1 < tokens.size() && one_of(verbs_behind, tokens[i + 1].text)) {
      if (token.text == "id") token.text = "i'd";
      if (token.text == "ill") token.text = "i'll";
      if (token.text == "well" && !one_of(verbs_of_opinion, tokens[i + 1].text))
        token.text = "we'll";
      if (token.text == "wed") token.text = "we'd";
    }
    // "eight teen"
    if (token.text == "teen" && i > 0 && tokens[i - 1].kind == Token::Kind::word) {
      static const std::map<std::string_view, std::string_view> teens{
          {"four", "fourteen"},  {"for", "fourteen"}, {"six", "sixteen"},  {"seven", "seventeen"},
          {"eight", "eighteen"}, {"ate", "eighteen"}, {"nine", "nineteen"}};
      if (const auto found = teens.find(tokens[i - 1].text); found != teens.end()) {
        tokens[i - 1].text = found->second;
        tokens[i - 1].words.end = token.words.end;
        token.text.clear();  // part of the word before
        continue;
      }
    }
    const bool opens = i == 0 || tokens[i - 1].kind == Token::Kind::mark ||
                       tokens[i - 1].text == "okay" || tokens[i - 1].text == "ok" ||
                       tokens[i - 1].text == "right" || tokens[i - 1].text == "base" ||
                       tokens[i - 1].text == "so";
    if (token.text == "were" && opens) token.text = "we're";
  }
}

namespace {

/// The words around a token; empty where there is none or a mark.
class Around {
 public:
  Around(const std::vector<Token>& tokens, std::size_t at) : tokens_(tokens), at_(at) {}
  std::string_view before(std::size_t back = 1) const {
    return at_ >= back ? word(at_ - back) : std::string_view();
  }
  std::string_view after(std::size_t on = 1) const { return word(at_ + on); }

 private:
  std::string_view word(std::size_t i) const {
    return i < tokens_.size() && tokens_[i].kind != Token::Kind::mark
               ? std::string_view(tokens_[i].text)
               : std::string_view();
  }
  const std::vector<Token>& tokens_;
  std::size_t at_;
};

/// "forty too", "one oh ate", "too thirds", "ate by five inches", "for inches", "too were
/// limestone".
bool counts(std::string_view word, const Around& around) {
  const std::string_view before = around.before();
  const std::string_view after = around.after();
  const bool rare = word == "won" || word == "ate" || word == "sicks";
  const bool number_after = is_number(after);
  if (one_of(parts, after) && (after.ends_with('s') || rare || before == "about")) return true;
  if (one_of(tens, before)) {
    if (rare || (word == "too" && !number_after)) return true;
    // "bag thirty for the slate", "twenty to thirty": elsewhere they mean what they say
    return word != "to" ? after.empty() || after == "bag" || one_of(measures, after)
                        : after.empty() && !number_after;
  }
  if (before == "oh" || before == "zero") return !number_after || rare;
  if (one_of(measures, after) || after == "hundred" || after == "oh" || after == "zero")
    return true;
  if (word == "too" && one_of(digits, before) && one_of(digits, after)) return true;
  if (before == "by") return after == "by" || one_of(measures, after);
  if (after == "by" && one_of(digits, around.after(2))) return true;
  if (one_of(verbs_of_being, after)) return word == "too" && (before == "and" || before.empty());
  if (!rare) return false;
  static constexpr auto eaters = std::to_array<std::string_view>(
      {"i", "we", "you", "he", "she", "they", "who", "just", "already", "has", "have", "had",
       "never", "dog", "we've", "i've"});
  return !one_of(eaters, before);
}

/// "Out of twenty ate migmatite": the one number ends, the other begins.
bool one_of_all(const Around& around, bool rock_behind) {
  return rock_behind && one_of(tens, around.before()) && around.before(2) == "of";
}

bool here(const Around& around) {
  static constexpr auto places = std::to_array<std::string_view>(
      {"we're",  "were",  "is",   "it's",   "down", "up", "over", "out", "of",   "are",   "round",
       "around", "right", "from", "that's", "left", "in", "got",  "all", "just", "outta", "three"});
  static constexpr auto onward = std::to_array<std::string_view>({"at", "we", "is", "and", "on"});
  return around.before().empty() ? one_of(onward, around.after()) : one_of(places, around.before());
}

/// "Know granite here", "know sign of chert", "know stereo": nobody knows it.
bool nothing_of(const Around& around, bool rock_behind) {
  static constexpr auto knowers = std::to_array<std::string_view>(
      {"i",   "you",   "we",      "they", "don't",    "to",     "didn't", "who",
       "not", "us",    "do",      "does", "doesn't",  "should", "would",  "might",
       "i'd", "you'd", "already", "all",  "wouldn't", "must"});
  static constexpr auto wanted =
      std::to_array<std::string_view>({"sign", "stereo", "down", "after", "more"});
  return !one_of(knowers, around.before()) && (rock_behind || one_of(wanted, around.after()));
}

/// "Back thirty two", "simple nine": a label, where a number of its own follows.
bool labels_number(std::string_view word, const Around& around) {
  if (!is_number(around.after())) return false;
  if (word == "simple") return true;
  static constexpr auto goers = std::to_array<std::string_view>(
      {"go",  "going", "went",   "gone",  "head",    "heading", "come",    "coming", "came",
       "be",  "walk",  "walked", "look",  "looking", "get",     "getting", "got",    "been",
       "way", "set",   "move",   "moved", "turn",    "step",    "stepped", "put",    "the",
       "my",  "at",    "i'm",    "we're", "was",     "is",      "about"});
  static constexpr auto spans = std::to_array<std::string_view>(
      {"minutes", "minute", "metres", "meters", "hours", "hour", "days", "years", "steps", "paces",
       "feet", "yards", "from", "in", "to", "of"});
  return !one_of(goers, around.before()) && !one_of(spans, around.after(2)) &&
         !one_of(spans, around.after(3));
}

}  // namespace

void restore_homophones(std::vector<Token>& tokens,
                        const std::function<bool(std::size_t)>& names_rock) {
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    Token& token = tokens[i];
    if (token.kind != Token::Kind::word || token.text.size() > 6) continue;
    const Around around(tokens, i);
    if (const std::string_view number = number_like(token.text);
        !number.empty() && !one_of_all(around, names_rock(i + 1)) &&
        (counts(token.text, around) || (token.text == "too" && names_rock(i + 1)))) {
      token.text = number;
    } else if (token.text == "hear" && here(around)) {
      token.text = "here";
    } else if (token.text == "their" && one_of(verbs_of_being, around.after())) {
      token.text = "there";
    } else if (token.text == "know" && nothing_of(around, names_rock(i + 1))) {
      token.text = "no";
    } else if ((token.text == "back" || token.text == "simple") &&
               labels_number(token.text, around)) {
      token.text = token.text == "back" ? "bag" : "sample";
    } else if (token.text == "an" && !around.after().empty() &&
               std::string_view("aeiouhx").find(around.after().front()) == std::string_view::npos) {
      token.text = "and";  // "seven basalt an two scoria"
    } else if (token.text == "downs" && around.after() == "on") {
      token.text = "down";
      tokens[i + 1].text = "sun";
    } else if (token.text == "nun") {
      token.text = "none";
    } else if (token.text == "wrest") {
      token.text = "rest";
    } else if (token.text == "quota") {
      token.text = "quarter";
    } else if (token.text == "feat" && one_of(digits, around.before())) {
      token.text = "feet";
    } else if (token.text == "sent" && around.before() == "per") {
      tokens[i - 1].text.clear();
      token.text = "percent";
    }
  }
}

}  // namespace stonecall::reading
