#pragma once

#include <map>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

/// Scores predicted facts against labelled ones, as a careful scribe would: each label is met at
/// most once; shares and burial within 10 points at both ends, sizes within 20 %, everything else
/// equal.
namespace stonecall::reading::scoring {

using Json = nlohmann::ordered_json;

struct Tally {
  int right = 0;
  int made = 0;
  int wanted = 0;
  double f1() const { return made + wanted == 0 ? 1 : 2.0 * right / (made + wanted); }
};

struct Score {
  std::map<std::string, Tally> fields;
  std::vector<std::string> misses;  ///< "a017 missing {…}", for the reader of a failed test
  Tally overall() const;
};

struct Note {
  std::string id;
  std::string from;
  std::string text;
  Json facts;
};

struct Notes {
  std::string bytes;  ///< of the file, plan line first
  std::vector<Note> notes;
};

Notes load(const std::string& file);
Notes parse(const std::string& bytes);

/// Facts by note, as `read_notes` gives them for the file's bytes.
std::map<std::string, Json> predicted(const std::string& bytes);

Score score(const std::vector<Note>& labelled, const std::map<std::string, Json>& predicted);

}  // namespace stonecall::reading::scoring
