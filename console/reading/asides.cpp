#include "console/reading/asides.hpp"

#include <algorithm>
#include <array>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace stonecall::reading {
namespace {

using Count = std::size_t;

/// Open a turn and say nothing yet.
// clang-format off
constexpr auto openers = std::to_array<std::string_view>({
    "okay", "ok", "right", "right then", "righto", "righty ho", "alright", "alright then",
    "all right", "all right then", "okay then", "okay so", "yeah", "yep", "yup", "so", "so yeah",
    "well", "and", "hey", "hello", "hi", "hiya", "listen", "note", "copy", "copy that", "roger",
    "roger that", "understood", "just to say", "just to note", "for the record", "for the log",
    "just to add", "just so you know", "be advised", "for your information", "i reckon", "i think",
    "looks like", "looks to me like", "it looks like", "let me see", "oh", "ooh", "aha", "wow", "gosh",
    "oh yeah", "oh right", "ah right", "guys", "folks", "basically", "honestly", "literally",
    "anyway", "anyways", "morning", "good morning", "afternoon", "good afternoon", "evening",
    "i mean", "hang on", "hold on", "wait", "let me think", "quick one", "one more thing",
    "just to let you know", "just to let", "just to let you all know", "i can confirm", "can confirm", "we can confirm", "confirming",
    "definitely", "obviously", "clearly", "certainly", "pretty sure", "i'm pretty sure", "fairly sure", "i'm fairly sure", "i believe", "i guess", "i suppose", "my guess is",
    "i'd say", "i would say", "i have to say", "i must say", "it turns out", "turns out", "it seems", "it seems like", "seems like", "seems to me",
    "as far as i can see", "as far as i can tell", "as far as we can tell", "from what i can see", "from what we can see", "from here", "looking around", "looking round",
    "at the moment", "currently", "by the way", "btw", "quick note", "quick update", "update", "sorry for the delay", "sorry for the wait", "one more", "another thing", "last thing", "next thing", "next up", "next is", "next one is", "next up is", "for your log",
    "please log", "please note", "please record", "go ahead and log", "log this", "to log", "message", "will do", "thanks", "thank you", "cheers", "great", "good", "perfect", "lovely stuff",
    "brilliant", "affirmative", "affirm", "yes", "there we go", "here we go", "here goes", "i say again", "still here", "in fact", "finally", "break", "go ahead", "standing by", "stand by"});
// clang-format on

/// These open a turn only before a mark: "good, sample four", but "good piece of schist".
constexpr auto before_mark = std::to_array<std::string_view>(
    {"one more",    "another thing", "last thing", "next thing",     "next up",       "message",
     "will do",     "great",         "good",       "perfect",        "brilliant",     "affirmative",
     "affirm",      "yes",           "in fact",    "finally",        "break",         "go ahead",
     "standing by", "stand by",      "from here",  "looking around", "looking round", "to log",
     "here goes",   "lovely stuff",  "clearly"});

/// Openers that are something else before these words.
struct NoOpener {
  std::string_view opener;
  std::string_view next;
};
constexpr std::array<NoOpener, 20> no_openers{
    {{"so", "far"},       {"so", "much"},     {"so", "many"},      {"so", "few"},
     {"well", "rounded"}, {"well", "over"},   {"well", "under"},   {"right", "now"},
     {"right", "here"},   {"right", "there"}, {"right", "at"},     {"right", "on"},
     {"right", "up"},     {"right", "by"},    {"right", "under"},  {"right", "after"},
     {"right", "next"},   {"right", "hand"},  {"right", "beside"}, {"and", "after"}}};

/// Put in while thinking.
constexpr std::array<std::string_view, 21> interjections{
    "you know",        "let me see",        "let's see",
    "as it were",      "so to speak",       "to be honest",
    "to be fair",      "i have to say",     "i must say",
    "if you ask me",   "believe it or not", "i mean to say",
    "needless to say", "basically",         "literally",
    "honestly",        "essentially",       "frankly",
    "or whatever",     "or something",      "or something like that"};

/// The same, where commas stand around them.
constexpr std::array<std::string_view, 13> between_commas{"what",
                                                          "i don't know",
                                                          "i dunno",
                                                          "dunno",
                                                          "how do you say",
                                                          "let me think",
                                                          "what is it",
                                                          "what's it called",
                                                          "what do you call it",
                                                          "what's the word",
                                                          "what do they call it",
                                                          "what's that called",
                                                          "like"};

/// Close a turn, behind a mark.
// clang-format off
constexpr auto closers = std::to_array<std::string_view>({
    "over", "over and out", "thanks", "thank you", "cheers", "mate", "okay", "ok", "right", "end",
    "end of note", "end of message", "that is all", "that's all", "that's it", "there you go",
    "if you can hear me", "copy", "how copy", "do you copy", "got that", "break", "out", "yeah", "so yeah", "anyway",
    "stand by", "standby", "please log that", "for the record", "for the log", "as i said", "nice one"});

/// The same, where no mark is needed.
constexpr auto open_closers = std::to_array<std::string_view>({
    "over and out", "how copy", "do you copy", "break break", "end of message", "end of note", "thanks", "thank you", "cheers", "mate", "full stop",
    "by the look of it", "by the looks of it", "there you go"});
// clang-format on

/// Of the closers, those that ask nothing of the back room but whether it heard.
constexpr auto whether_heard = std::to_array<std::string_view>(
    {"over", "copy", "how copy", "do you copy", "okay", "ok", "got that"});

/// Words that a phrase begins or is held together with; one of them is said twice where a speaker
/// begins anew.
constexpr std::array<std::string_view, 34> little_words{
    "the",   "a",     "an",      "of",    "at",   "on",  "in",   "it",     "it's",
    "we",    "we've", "we're",   "i",     "i've", "i'm", "that", "that's", "this",
    "these", "there", "there's", "is",    "was",  "are", "and",  "to",     "with",
    "for",   "from",  "so",      "which", "my",   "got", "just"};

bool mark(const Token& token) {
  return token.kind == Token::Kind::mark;
}

/// Tokens that `phrase` covers from `at` on; 0: it does not stand there.
Count covers(std::span<const Token> tokens, Count at, std::string_view phrase) {
  Count count = 0;
  while (!phrase.empty()) {
    const Count space = std::min(phrase.find(' '), phrase.size());
    if (at + count >= tokens.size() || tokens[at + count].kind != Token::Kind::word ||
        tokens[at + count].text != phrase.substr(0, space))
      return 0;
    ++count;
    phrase.remove_prefix(std::min(space + 1, phrase.size()));
  }
  return count;
}

template <class Phrases>
Count longest_of(std::span<const Token> tokens, Count at, const Phrases& phrases) {
  Count most = 0;
  if (at >= tokens.size() || tokens[at].text.empty()) return most;
  const char first = tokens[at].text.front();
  for (const std::string_view phrase : phrases)
    if (phrase.front() == first) most = std::max(most, covers(tokens, at, phrase));
  return most;
}

template <class Words>
bool one_of(const Words& words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool spoken_digit(const Token& token) {
  static constexpr std::array<std::string_view, 6> digits{"one",  "two",  "three",
                                                          "four", "five", "six"};
  return token.kind == Token::Kind::digits || one_of(digits, token.text);
}

bool comma(std::span<const Token> tokens, Count at) {
  return at < tokens.size() && mark(tokens[at]) && tokens[at].text == ",";
}

bool any_word(std::span<const Token> tokens, Count at,
              std::initializer_list<std::string_view> words) {
  return at < tokens.size() && tokens[at].kind == Token::Kind::word &&
         one_of(words, tokens[at].text);
}

/// "base", "field one", the speaker's own name: tokens it covers.
Count call_sign(std::span<const Token> tokens, Count at, const Context& context) {
  if (at >= tokens.size() || tokens[at].kind != Token::Kind::word) return 0;
  const std::string& word = tokens[at].text;
  if (word == "back" && at + 1 < tokens.size() && tokens[at + 1].text == "room") return 2;
  if (word == "base" || word == context.speaker || one_of(context.back_room, word)) return 1;
  // "group-1:", as the speaker is named, hyphen and all
  Count named = 0;
  for (std::string_view name = context.speaker; !name.empty();) {
    const Count end = std::min(name.find_first_of("- "), name.size());
    if (at + named >= tokens.size() || tokens[at + named].text != name.substr(0, end)) {
      named = 0;
      break;
    }
    ++named;
    name.remove_prefix(std::min(end + 1, name.size()));
  }
  if (named) return named;
  const bool party = word == "field" || word == "party" || word == "team" || word == "crew" ||
                     word == "group" || word == "unit";
  return party && at + 1 < tokens.size() && spoken_digit(tokens[at + 1]) ? 2 : 0;
}

/// "Base from field one,", "Lodge,", "this is field two,": ends with a mark, or with a second call
/// sign.
Count address(std::span<const Token> tokens, Count begin, const Context& context) {
  Count at = begin + covers(tokens, begin, "this is");
  const Count first = call_sign(tokens, at, context);
  if (!first) return 0;
  at += first;
  for (const std::string_view link : {"from", "to", "here"}) at += covers(tokens, at, link);
  const Count second = call_sign(tokens, at, context);
  at += second;
  at += covers(tokens, at, "here");
  static constexpr std::array<std::string_view, 31> begins{
      "what",  "how",    "would",   "could",    "should", "do",   "did", "shall",
      "which", "where",  "request", "question", "are",    "may",  "at",  "on",
      "were",  "now",    "we",      "we're",    "we've",  "i",    "i'm", "i've",
      "it's",  "that's", "there's", "this",     "here's", "just", "can"};
  const bool ends =
      at < tokens.size() && (second > 0 || mark(tokens[at]) || one_of(begins, tokens[at].text));
  return ends ? at - begin : 0;
}

/// "Oh six", "I mean thirty two", "wait that's bag nine": what seems an opener begins a number or
/// puts something right. Long notes that begin so tell something of their own.
bool says_more(std::span<const Token> tokens, Count at, Count next) {
  if (next >= tokens.size()) return false;
  if (any_word(tokens, at, {"oh"}) && next == at + 1)
    return spoken_digit(tokens[next]) || tokens[next].text == "number";
  constexpr Count sentence = 6;
  const bool short_note = tokens.size() - next < sentence;
  if (any_word(tokens, at, {"i"}) && any_word(tokens, at + 1, {"mean"}))
    return short_note || mark(tokens[next]) || any_word(tokens, next, {"not"});
  if (any_word(tokens, at, {"hang", "hold", "wait"}))
    return short_note || mark(tokens[next]) || spoken_digit(tokens[next]) ||
           any_word(tokens, next,
                    {"that's", "that", "it's", "it",  "its",     "no",    "not",      "i",
                     "i'm",    "i've", "make", "bag", "this",    "was",   "the",      "number",
                     "sample", "a",    "we",   "up",  "scratch", "sorry", "actually", "they're"});
  return false;
}

/// Tokens that say nothing yet, at the beginning.
Count opening(std::span<const Token> tokens, const Context& context) {
  Count at = 0;
  while (at < tokens.size()) {
    Count step = mark(tokens[at]) ? 1 : address(tokens, at, context);
    if (!step) {
      step = longest_of(tokens, at, openers);
      const Count next = at + step;
      if (step && next < tokens.size() && !mark(tokens[next]) &&
          longest_of(tokens, at, before_mark) == step)
        return at;
      const bool other = step == 1 && next < tokens.size() &&
                         std::ranges::any_of(no_openers, [&](const NoOpener& pair) {
                           return tokens[at].text == pair.opener && tokens[next].text == pair.next;
                         });
      if (other || says_more(tokens, at, next)) step = 0;
    }
    if (!step) return at;
    at += step;
  }
  return 0;  // "Okay, copy that." stays as it is
}

void drop_closing(std::vector<Token>& tokens) {
  Count end = tokens.size();
  while (end > 0 && mark(tokens[end - 1])) --end;
  // "That was bag nine, right?" asks; "bag nine, okay?" asks whether it was heard.
  const bool asks = end < tokens.size() && tokens[end].text == "?";
  const auto closes = [&](std::string_view phrase) -> Count {
    if (asks && !one_of(whether_heard, phrase)) return 0;
    const Count count = 1 + static_cast<Count>(std::count(phrase.begin(), phrase.end(), ' '));
    return end >= count + 2 && covers(tokens, end - count, phrase) == count ? count : 0;
  };
  Count count = 0;
  for (const std::string_view phrase : closers)
    if (const Count closing = closes(phrase); closing && mark(tokens[end - closing - 1]))
      count = closing + 1;
  for (const std::string_view phrase : open_closers) count = std::max(count, closes(phrase));
  // "bag forty over", but "the eight I kicked over"
  static constexpr auto moved_over = std::to_array<std::string_view>(
      {"left",    "kicked", "turned", "rolled", "moved",   "tipped",  "fell",  "flipped",  "come",
       "came",    "go",     "went",   "going",  "knocked", "carried", "start", "starting", "it",
       "them",    "that",   "one",    "all",    "look",    "looked",  "bent",  "heading",  "walked",
       "climbed", "on",     "and",    "is",     "rocks",   "stones",  "this"});
  if (!count && closes("over") && !one_of(moved_over, tokens[end - 2].text)) count = 1;
  if (!count) return;
  const auto from = tokens.begin() + static_cast<std::ptrdiff_t>(end - count);
  tokens.erase(from, tokens.end());
  return drop_closing(tokens);
}

/// "It's like mostly granite", "it was sort of half buried": tokens of what only softens; 0: it
/// does not stand at `at`, or it compares or names a sort. `before`: the word in front.
Count softener(std::span<const Token> tokens, Count at, const Token& before) {
  const auto behind = [&](std::initializer_list<std::string_view> words) {
    return before.kind == Token::Kind::word && one_of(words, before.text);
  };
  // "it was what, twenty centimetres"
  if (any_word(tokens, at, {"what"}) && comma(tokens, at + 1))
    return behind({"is", "it's", "was", "are", "about", "of", "maybe", "say"}) ? 2 : 0;
  if (any_word(tokens, at, {"sort", "kind"}) && any_word(tokens, at + 1, {"of"})) {
    const bool names =
        behind({"what",  "which",  "some",  "same",  "other",   "only",     "this", "that",
                "new",   "each",   "any",   "every", "another", "main",     "one",  "no",
                "first", "second", "third", "last",  "common",  "different"});
    return names || any_word(tokens, at + 2, {"rock", "stone", "thing"}) ? 0 : 2;
  }
  if (!any_word(tokens, at, {"like"})) return 0;
  const bool softens =
      mark(before) ||
      behind({"is",    "it's",  "was",  "are",      "were",    "of",   "that's", "there's",
              "about", "at",    "with", "and",      "but",     "got",  "have",   "we've",
              "just",  "maybe", "in",   "probably", "they're", "i've", "then",   "so"});
  // "It's like a football", "like the one we had", "like toffee": a comparison has a noun for it.
  const bool amount =
      at + 1 < tokens.size() &&
      (tokens[at + 1].kind == Token::Kind::digits ||
       any_word(tokens, at + 1, {"half",   "mostly", "hardly",     "loads",   "lots",   "all",
                                 "nearly", "almost", "really",     "about",   "maybe",  "one",
                                 "two",    "three",  "four",       "five",    "six",    "seven",
                                 "eight",  "nine",   "ten",        "eleven",  "twelve", "fifteen",
                                 "twenty", "thirty", "forty",      "fifty",   "sixty",  "seventy",
                                 "eighty", "ninety", "completely", "totally", "barely", "super"}) ||
       (any_word(tokens, at + 1, {"a", "an"}) &&
        any_word(tokens, at + 2,
                 {"third", "quarter", "fifth", "tenth", "few", "lot", "couple", "bit", "hundred",
                  "metre", "foot", "dozen"})));
  return softens && amount ? 1 : 0;
}

/// "The after, the after is done", "it's a it's a gneiss": words that are said twice; 0: none.
Count said_again(std::span<const Token> tokens, Count at) {
  if (tokens[at].kind != Token::Kind::word) return 0;
  for (Count length = 3; length >= 2; --length) {
    const Count gap = comma(tokens, at + length) ? 1 : 0;
    if (at + 2 * length + gap > tokens.size()) continue;
    bool same = true;
    bool little = false;
    for (Count i = at; i < at + length && same; ++i) {
      const Token& again = tokens[i + length + gap];
      same = tokens[i].kind == Token::Kind::word && again.kind == Token::Kind::word &&
             tokens[i].text == again.text && !spoken_digit(tokens[i]);
      little = little || one_of(little_words, tokens[i].text);
    }
    if (same && little) return length + gap;
  }
  // "any skarn, skarn on the tor": one word, and the sentence goes on. Numbers may count.
  const bool one =
      comma(tokens, at + 1) && at + 3 < tokens.size() && tokens[at].kind == Token::Kind::word &&
      !mark(tokens[at + 3]) && tokens[at + 2].kind == Token::Kind::word &&
      tokens[at].text == tokens[at + 2].text && tokens[at].text.size() > 4 &&
      !tokens[at].text.ends_with("ty") && !tokens[at].text.ends_with("teen") &&
      !one_of(
          std::to_array<std::string_view>({"three", "seven", "eight", "eleven", "twelve", "dozen"}),
          tokens[at].text);
  return one ? 2 : 0;
}

/// "It's definitely half buried", "there is currently no chert": says how sure or since when, and
/// nothing of what is read.
bool idle_adverb(std::span<const Token> tokens, Count at, const Token& before) {
  static constexpr auto adverbs = std::to_array<std::string_view>(
      {"definitely", "certainly", "clearly", "obviously", "currently", "presently", "undoubtedly",
       "simply", "indeed"});
  static constexpr auto verbs = std::to_array<std::string_view>(
      {"is", "are", "was", "were", "it's", "that's", "there's", "we're", "i'm", "they're", "he's",
       "she's", "this", "we've", "i've", "have", "has"});
  return tokens[at].kind == Token::Kind::word && before.kind == Token::Kind::word &&
         one_of(adverbs, tokens[at].text) && one_of(verbs, before.text) && at + 1 < tokens.size() &&
         !mark(tokens[at + 1]);
}

/// The commas around go as well.
void drop_interjections(std::vector<Token>& tokens) {
  Count kept = 0;
  for (Count at = 0; at < tokens.size();) {
    if (const Count count = at > 0 ? longest_of(tokens, at, interjections) : 0) {
      at += count;
      if (comma(tokens, at)) ++at;
      continue;
    }
    // "about, what, twenty": both commas go. (Tokens before `at` may have moved.)
    const bool after_comma = kept > 0 && comma(tokens, kept - 1);
    if (const Count count = after_comma ? longest_of(tokens, at, between_commas) : 0;
        count && comma(tokens, at + count)) {
      --kept;
      at += count + 1;
      continue;
    }
    if (const Count again = said_again(tokens, at)) {
      at += again;
      continue;
    }
    if (const Count count = kept > 0 ? softener(tokens, at, tokens[kept - 1]) : 0) {
      at += count;
      continue;
    }
    if (kept > 0 && idle_adverb(tokens, at, tokens[kept - 1])) {
      ++at;
      continue;
    }
    if (kept != at) tokens[kept] = std::move(tokens[at]);
    ++kept, ++at;
  }
  tokens.resize(kept);
}

}  // namespace

void drop_asides(std::vector<Token>& tokens, const Context& context) {
  drop_closing(tokens);
  drop_interjections(tokens);
  const Count begin = opening(tokens, context);
  tokens.erase(tokens.begin(), tokens.begin() + static_cast<std::ptrdiff_t>(begin));
  if (begin > 0 && tokens.front().text == "were") tokens.front().text = "we're";
}

}  // namespace stonecall::reading
