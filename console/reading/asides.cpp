#include "console/reading/asides.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace stonecall::reading {
namespace {

using Count = std::size_t;

/// Open a turn and say nothing yet.
// clang-format off
constexpr std::array<std::string_view, 44> openers{
    "okay", "ok", "right", "right then", "righto", "righty ho", "alright", "alright then",
    "all right", "all right then", "okay then", "okay so", "yeah", "yep", "yup", "so", "so yeah",
    "well", "and", "hey", "hello", "hi", "hiya", "listen", "note", "copy", "copy that", "roger",
    "roger that", "understood", "just to say", "just to note", "for the record", "for the log",
    "just to add", "just so you know", "be advised", "for your information", "i reckon", "i think",
    "looks like", "looks to me like", "it looks like", "let me see"};
// clang-format on

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
constexpr std::array<std::string_view, 13> interjections{
    "you know",          "let me see",    "let's see",      "as it were", "so to speak",
    "to be honest",      "to be fair",    "i have to say",  "i must say", "if you ask me",
    "believe it or not", "i mean to say", "needless to say"};

/// Close a turn, behind a mark.
// clang-format off
constexpr std::array<std::string_view, 17> closers{
    "over", "over and out", "thanks", "thank you", "cheers", "mate", "okay", "ok", "right", "end",
    "end of note", "end of message", "that is all", "that's all", "that's it", "there you go",
    "if you can hear me"};
// clang-format on

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

/// "base", "field one", the speaker's own name: tokens it covers.
Count call_sign(std::span<const Token> tokens, Count at, const Context& context) {
  if (at >= tokens.size() || tokens[at].kind != Token::Kind::word) return 0;
  const std::string& word = tokens[at].text;
  if (word == "back" && at + 1 < tokens.size() && tokens[at + 1].text == "room") return 2;
  if (word == "base" || word == context.speaker || one_of(context.back_room, word)) return 1;
  const bool party = word == "field" || word == "party" || word == "team" || word == "crew";
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
  const bool ends = at < tokens.size() && (mark(tokens[at]) || one_of(begins, tokens[at].text));
  return ends ? at - begin : 0;
}

/// Tokens that say nothing yet, at the beginning.
Count opening(std::span<const Token> tokens, const Context& context) {
  Count at = 0;
  while (at < tokens.size()) {
    Count step = mark(tokens[at]) ? 1 : address(tokens, at, context);
    if (!step) {
      step = longest_of(tokens, at, openers);
      const Count next = at + step;
      const bool other = step == 1 && next < tokens.size() &&
                         std::ranges::any_of(no_openers, [&](const NoOpener& pair) {
                           return tokens[at].text == pair.opener && tokens[next].text == pair.next;
                         });
      if (other) step = 0;
    }
    if (!step) return at;
    at += step;
  }
  return 0;  // "Okay, copy that." stays as it is
}

void drop_closing(std::vector<Token>& tokens) {
  Count end = tokens.size();
  while (end > 0 && mark(tokens[end - 1])) --end;
  for (const std::string_view phrase : closers) {
    const Count count = 1 + static_cast<Count>(std::count(phrase.begin(), phrase.end(), ' '));
    if (end < count + 2 || covers(tokens, end - count, phrase) != count) continue;
    if (!mark(tokens[end - count - 1])) continue;
    tokens.erase(tokens.begin() + static_cast<std::ptrdiff_t>(end - count - 1),
                 tokens.begin() + static_cast<std::ptrdiff_t>(end));
    return drop_closing(tokens);
  }
}

/// The commas around go as well.
void drop_interjections(std::vector<Token>& tokens) {
  Count kept = 0;
  for (Count at = 0; at < tokens.size();) {
    const Count count = at > 0 ? longest_of(tokens, at, interjections) : 0;
    if (count) {
      at += count;
      if (at < tokens.size() && mark(tokens[at]) && tokens[at].text == ",") ++at;
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
