#include <algorithm>
#include <cctype>
#include <functional>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <boost/regex.hpp>
#include <catch2/catch.hpp>

#include "tests/reading/score.hpp"

using namespace stonecall::reading::scoring;

namespace {

/// A way to say the same in other words. What it does not touch it gives back as it was.
struct Rewriting {
  std::string name;
  std::function<std::string(const std::string&)> of;
};

std::string lower_first(std::string text) {
  const bool pronoun = text.size() < 2 || text[1] == ' ' || text[1] == '\'';
  if (!pronoun && text[0] >= 'A' && text[0] <= 'Z') text[0] = static_cast<char>(text[0] + 32);
  return text;
}

std::function<std::string(const std::string&)> before(const std::string& words) {
  return [=](const std::string& text) { return words + lower_first(text); };
}

/// Each word or phrase of a pair for the other, whole words only, in any case.
std::function<std::string(const std::string&)> exchange(
    const std::vector<std::pair<std::string, std::string>>& pairs) {
  std::vector<std::pair<boost::regex, std::string>> rules;
  for (const auto& [from, to] : pairs)
    rules.emplace_back(boost::regex("\\b" + from + "\\b", boost::regex::icase), to);
  return [=](std::string text) {
    for (const auto& [from, to] : rules) text = boost::regex_replace(text, from, to);
    return text;
  };
}

std::string closed(std::string text) {
  if (text.empty() || text.back() == '?') return text;
  if (text.back() == '.') text.pop_back();
  return text + ", over.";
}

std::string thinking(const std::string& text) {
  const auto comma = text.find(", ");
  return comma == std::string::npos
             ? text
             : text.substr(0, comma) + ", you know, " + text.substr(comma + 2);
}

/// One letter of a longer word mistyped, another word and another letter in each note. The same in
/// each run.
std::function<std::string(const std::string&)> mistyped(
    std::size_t shortest,
    const std::function<std::string(std::string word, std::size_t letter)>& slip) {
  return [=](const std::string& text) {
    std::vector<std::pair<std::size_t, std::size_t>> words;  // begin, length
    for (std::size_t at = 0; at < text.size();) {
      std::size_t end = at;
      while (end < text.size() && std::isalpha(static_cast<unsigned char>(text[end]))) ++end;
      if (end - at >= shortest) words.emplace_back(at, end - at);
      at = std::max(end, at + 1);
    }
    if (words.empty()) return text;
    const std::size_t seed = text.size() * 7 + static_cast<unsigned char>(text[text.size() / 2]);
    const auto [begin, length] = words[seed % words.size()];
    const std::string word = text.substr(begin, length);
    return text.substr(0, begin) + slip(word, 1 + seed / 5 % (length - 2)) +
           text.substr(begin + length);
  };
}

std::string without_letter(std::string word, std::size_t letter) {
  return word.erase(letter, 1);
}
std::string letter_twice(std::string word, std::size_t letter) {
  return word.insert(letter, 1, word[letter]);
}
std::string letters_swapped(std::string word, std::size_t letter) {
  std::swap(word[letter], word[letter + 1]);
  return word;
}
std::string other_letter(std::string word, std::size_t letter) {
  word[letter] = word[letter] == 'e' ? 'a' : 'e';
  return word;
}
std::string other_first_letter(std::string word, std::size_t) {
  word[0] = word[0] == 't' ? 'r' : 't';
  return word;
}

/// `put_in` behind a word somewhere within.
std::function<std::string(const std::string&)> interrupted(const std::string& put_in) {
  return [=](const std::string& text) {
    std::vector<std::size_t> gaps;
    for (std::size_t at = text.find(' '); at != std::string::npos; at = text.find(' ', at + 1))
      gaps.push_back(at);
    if (gaps.size() < 2) return text;
    const std::size_t gap = gaps[text.size() % gaps.size()];
    return text.substr(0, gap) + put_in + text.substr(gap);
  };
}

/// A word somewhere within said twice, or first broken off after `letters`. Numbers are left.
std::function<std::string(const std::string&)> begun_twice(std::size_t letters,
                                                           const std::string& gap) {
  return [=](const std::string& text) {
    static const boost::regex word(
        R"(\b(?!(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|half|hundred|very)\b)"
        R"(|\w+t(?:een|y)\b)[A-Za-z]{5,}(?=[ .,]|$))",
        boost::regex::icase);
    std::vector<std::string> found;
    std::vector<std::size_t> at;
    for (boost::sregex_iterator it(text.begin(), text.end(), word), end; it != end; ++it) {
      found.push_back(it->str());
      at.push_back(static_cast<std::size_t>(it->position()));
    }
    if (found.empty()) return text;
    const std::size_t i = text.size() % found.size();
    const std::string first = letters ? found[i].substr(0, letters) : found[i];
    return text.substr(0, at[i]) + first + gap + text.substr(at[i]);
  };
}

/// "twenty 3", as a recogniser that writes single digits leaves it.
std::string half_in_figures(const std::string& text) {
  static const boost::regex number(
      R"(\b(twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety) (one|two|three|four|five|six|seven|eight|nine)\b(?! hundred))",
      boost::regex::icase);
  return boost::regex_replace(text, number, [](const boost::smatch& match) {
    static const std::vector<std::string> digits{"one", "two",   "three", "four", "five",
                                                 "six", "seven", "eight", "nine"};
    std::string digit = match.str(2);
    for (char& c : digit) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    const auto value = std::find(digits.begin(), digits.end(), digit) - digits.begin() + 1;
    return match.str(1) + " " + std::to_string(value);
  });
}

std::function<std::string(const std::string&)> behind(const std::string& words) {
  return [=](std::string text) {
    if (text.ends_with('?')) return text;
    if (text.ends_with('.')) text.pop_back();
    return text + words;
  };
}

/// "seven lovely basalt": a word in front of each kind that was counted.
std::string praised(const std::string& text) {
  static const boost::regex counted(
      R"(\b(two|three|four|five|six|seven|eight|nine|ten|eleven|twelve) (?=(?:basalts?|granites?|gneiss|schists?|chert|quartz|limestones?|sandstones?|dolerites?|gabbros?|scoria|tuff|slates?|shale)\b))",
      boost::regex::icase);
  return boost::regex_replace(text, counted, "$1 lovely ");
}

const std::vector<std::string> rewritten_files{
    "notes_dev.jsonl",           "notes_held_out.jsonl",       "notes_noisy.jsonl",
    "notes_heldout_first.jsonl", "notes_heldout_second.jsonl", "notes_coast.jsonl",
    "notes_arroyo.jsonl",        "notes_moor.jsonl",           "notes_corrie.jsonl",
    "notes_lanner.jsonl",        "notes_ossel.jsonl",          "notes_kessock.jsonl",
    "notes_ister.jsonl",         "notes_tolver.jsonl"};

/// The notes that a rewriting changes, read as they are and rewritten.
struct Compared {
  Tally as_said;
  Tally rewritten;
  std::string misses;
};

void add(Tally& all, const Tally& some) {
  all.right += some.right;
  all.made += some.made;
  all.wanted += some.wanted;
}

Compared compare(const Rewriting& rewriting) {
  Compared all;
  for (const std::string& file : rewritten_files) {
    const Notes notes = load(file);
    std::istringstream in(notes.bytes);
    std::string bytes;
    std::string base;
    std::vector<Note> changed;
    std::size_t next = 0;
    for (std::string line; std::getline(in, line);) {
      Json json = Json::parse(line);
      if (json.contains("base")) base = json["base"];
      if (json.contains("facts")) {
        const Note& note = notes.notes[next++];
        const std::string text = rewriting.of(note.text);
        if (note.from != base && text != note.text) {
          json["text"] = text;
          changed.push_back(note);
        }
      }
      bytes += json.dump() + '\n';
    }
    const Score plain = score(changed, predicted(notes.bytes));
    const Score other = score(changed, predicted(bytes));
    add(all.as_said, plain.overall());
    add(all.rewritten, other.overall());
    for (const std::string& miss : other.misses) all.misses += file + ' ' + miss + '\n';
  }
  return all;
}

}  // namespace

TEST_CASE("the same said in other words is read the same") {
  const Rewriting rewriting = GENERATE(from_range(std::vector<Rewriting>{
      {"an opener before it", before("Okay, so ")},
      {"a hedge that counts before it", before("I reckon ")},
      {"an answer before it", before("Copy that. ")},
      {"the back room called before it", before("Base, ")},
      {"the turn closed behind it", closed},
      {"a pause to think in it", thinking},
      {"contractions in full", exchange({{"we're", "we are"},
                                         {"that's", "that is"},
                                         {"it's", "it is"},
                                         {"there's", "there is"},
                                         {"we've", "we have"},
                                         {"can't", "cannot"},
                                         {"don't", "do not"}})},
      {"contracted", exchange({{"we are", "we're"},
                               {"that is", "that's"},
                               {"it is", "it's"},
                               {"there is", "there's"},
                               {"we have", "we've"},
                               {"cannot", "can't"}})},
      {"specimens", exchange({{"samples", "specimens"}, {"sample", "specimen"}})},
      {"stones for rocks", exchange({{"rocks", "stones"}, {"rock", "stone"}})},
      {"sample bags", exchange({{"bag", "sample bag"}})},
      {"departing", exchange({{"leaving", "departing"}})},
      {"off from", exchange({{"leaving", "off from"}})},
      {"surprise before it", before("Ooh okay ")},
      {"thinking aloud before it", before("right so basically ")},
      {"somebody spoken to before it", before("okay guys ")},
      {"a beginning that means nothing", before("I mean ")},
      {"softened", exchange({{"is", "is sort of"},
                             {"it's", "it's basically"},
                             {"was", "was kind of"},
                             {"are", "are honestly"}})},
      {"written short", exchange({{"samples", "smpls"},
                                  {"sample", "smpl"},
                                  {"about", "abt"},
                                  {"buried", "bur"},
                                  {"leaving", "lvg"},
                                  {"arrived at", "arr"},
                                  {"picture", "pic"},
                                  {"pieces", "pcs"},
                                  {"pebbles", "pebs"},
                                  {"should be", "shd be"}})},
      {"mainly", exchange({{"mostly", "mainly"}, {"hardly any", "scarcely any"}})},
      {"sounds of thinking within", interrupted(", um,")},
      {"what a transcriber puts in", interrupted(" [inaudible]")},
      {"a word broken off", begun_twice(2, "- ")},
      {"a word broken off without a sign of it", begun_twice(3, " ")},
      {"half a number in figures", half_in_figures},
      {"whether it was heard", behind(", okay?")},
      {"whether it was copied", behind(". How copy?")},
      {"a time stamp before it", before("[10:04] ")},
      {"a clock before it", before("10:04:22 - ")},
      {"the next one", exchange({{"^sample", "next is sample"}})},
      {"taken now",
       exchange({{"^sample (?=number|\\d|one|two|three|four|five|six|seven)", "taking sample "}})},
      {"praised", praised},
      {"sized in one word", exchange({{"(fist|egg|hand|brick)[ -]sized?", "$1sized"}})},
      {"number short", exchange({{"sample (?=\\d|one|two|three|four|five|six|seven|eight|nine|ten)",
                                  "sample nr "}})},
      {"amounts written otherwise", exchange({{"a third", "⅓"},
                                              {"two thirds", "⅔"},
                                              {"one in (?=five|ten|twenty|fifty)", "one out of "},
                                              {"percent", "per sent"}})},
      {"nun for none", exchange({{"none", "nun"},
                                 {"no (?=\\w+ (?:here|yet|so far|at))", "know "},
                                 {"here (?=at|we|on)", "hear "}})},
      {"won for one", exchange({{"one", "won"}})},
      {"ate for eight", exchange({{"eight", "ate"}})},
      {"too for two", exchange({{"two", "too"}})},
      {"back for bag", exchange({{"bag", "back"}})}}));
  const Compared result = compare(rewriting);
  INFO(rewriting.name << ": " << result.as_said.f1() << ", then " << result.rewritten.f1() << '\n'
                      << result.misses);
  REQUIRE(result.rewritten.wanted > 30);
  CHECK(result.rewritten.f1() >= result.as_said.f1() - 0.03);
}

// Each of these cost some facts of a hundred, as the rules looked for what comes first or next.
TEST_CASE("what says nothing costs nothing") {
  const Rewriting rewriting = GENERATE(from_range(std::vector<Rewriting>{
      {"a long word said twice", begun_twice(0, " ")},
      {"as said before", behind(", as I said")},
      {"the turn closed without a mark", behind(" over")},
      {"an update", before("Update: ")},
      {"confirmed", before("Confirming ")},
      {"how sure before it", before("I'm pretty sure ")},
      {"to let them know", before("Just to let you know ")},
      {"sure in the middle",
       exchange({{"is (?!not)", "is definitely "}, {"are (?!not)", "are currently "}})}}));
  const Compared result = compare(rewriting);
  INFO(rewriting.name << ": " << result.as_said.f1() << ", then " << result.rewritten.f1() << '\n'
                      << result.misses);
  REQUIRE(result.rewritten.wanted > 300);
  CHECK(result.rewritten.f1() >= result.as_said.f1() - 0.003);
}

// Another word in each note is hit, so a few notes lose what cannot be guessed ("laving").
TEST_CASE("one mistyped letter of a longer word loses next to nothing") {
  const auto& [rewriting, loss] = GENERATE(from_range(std::vector<std::pair<Rewriting, double>>{
      {{"a letter left out", mistyped(6, without_letter)}, 0.012},
      {{"a letter twice", mistyped(6, letter_twice)}, 0.008},
      {{"two letters swapped", mistyped(6, letters_swapped)}, 0.008},
      {{"another letter", mistyped(6, other_letter)}, 0.012},
      {{"another letter at the beginning", mistyped(6, other_first_letter)}, 0.02},
      {{"a letter left out of a shorter word", mistyped(5, without_letter)}, 0.022}}));
  const Compared result = compare(rewriting);
  INFO(rewriting.name << ": " << result.as_said.f1() << ", then " << result.rewritten.f1() << '\n'
                      << result.misses);
  REQUIRE(result.rewritten.wanted > 1000);
  CHECK(result.rewritten.f1() >= result.as_said.f1() - loss);
}
