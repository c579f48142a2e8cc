#include <functional>
#include <sstream>
#include <string>
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
      {"mainly", exchange({{"mostly", "mainly"}, {"hardly any", "scarcely any"}})}}));
  const Compared result = compare(rewriting);
  INFO(rewriting.name << ": " << result.as_said.f1() << ", then " << result.rewritten.f1() << '\n'
                      << result.misses);
  REQUIRE(result.rewritten.wanted > 30);
  CHECK(result.rewritten.f1() >= result.as_said.f1() - 0.03);
}
