#include "tests/reading/score.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <sstream>

#include <catch2/catch.hpp>

#include "console/reading/read_command.hpp"

namespace stonecall::reading::scoring {
namespace {

const std::vector<std::string> fields{"event",  "station", "sample_no", "bag",         "rock",
                                      "absent", "share",   "tally",     "tally_total", "photo",
                                      "size",   "buried",  "change"};

bool close(const Json& said, const Json& label) {
  return std::abs(said["low"].get<double>() - label["low"].get<double>()) <= 10 &&
         std::abs(said["high"].get<double>() - label["high"].get<double>()) <= 10;
}

bool same(const Json& said, const Json& label) {
  const std::string field = label["field"];
  if (said["field"] != field) return false;
  if (field == "share") return said["rock"] == label["rock"] && close(said, label);
  if (field == "buried") return close(said, label);
  if (field == "tally") return said["rock"] == label["rock"] && said["count"] == label["count"];
  if (field == "size")
    return std::abs(said["mm"].get<double>() - label["mm"].get<double>()) <=
           0.2 * label["mm"].get<double>();
  if (field == "change") return said["what"] == label["what"] && said["to"] == label["to"];
  return said["value"] == label["value"];
}

}  // namespace

Tally Score::overall() const {
  Tally all;
  for (const auto& [field, tally] : fields) {
    all.right += tally.right;
    all.made += tally.made;
    all.wanted += tally.wanted;
  }
  return all;
}

Notes parse(const std::string& bytes) {
  Notes all{bytes, {}};
  std::istringstream in(bytes);
  for (std::string line; std::getline(in, line);) {
    const Json json = Json::parse(line);
    if (json.contains("facts"))
      all.notes.push_back({json["id"], json["from"], json["text"], json["facts"]});
  }
  return all;
}

Notes load(const std::string& file) {
  std::ifstream in(std::string(READING_NOTES_DIR) + "/" + file, std::ios::binary);
  REQUIRE(in);
  return parse({std::istreambuf_iterator<char>(in), {}});
}

std::map<std::string, Json> predicted(const std::string& bytes) {
  std::istringstream in(bytes);
  std::ostringstream out;
  REQUIRE(read_notes(in, out, {}).empty());
  std::map<std::string, Json> facts;
  std::istringstream lines(out.str());
  for (std::string line; std::getline(lines, line);) {
    const Json json = Json::parse(line);
    facts[json["id"]] = json["facts"];
  }
  return facts;
}

Score score(const std::vector<Note>& labelled, const std::map<std::string, Json>& predicted) {
  Score result;
  for (const std::string& field : fields) result.fields[field] = {};
  for (const Note& note : labelled) {
    std::vector<Json> left(note.facts.begin(), note.facts.end());
    for (const Json& label : left) ++result.fields[label["field"]].wanted;
    const auto facts = predicted.find(note.id);
    if (facts == predicted.end()) continue;
    for (const Json& said : facts->second) {
      const auto field = result.fields.find(said["field"]);
      if (field == result.fields.end()) continue;  // further fields, not scored
      ++field->second.made;
      const auto match = std::find_if(left.begin(), left.end(),
                                      [&](const Json& label) { return same(said, label); });
      if (match != left.end()) {
        ++field->second.right;
        left.erase(match);
      } else {
        result.misses.push_back(note.id + " extra " + said.dump());
      }
    }
    for (const Json& label : left) result.misses.push_back(note.id + " missing " + label.dump());
  }
  return result;
}

}  // namespace stonecall::reading::scoring
