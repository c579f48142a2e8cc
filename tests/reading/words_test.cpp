#include "console/reading/words.hpp"

#include <string>
#include <string_view>
#include <vector>

#include <catch2/catch.hpp>

#include "console/reading/rock_names.hpp"
#include "console/reading/shorthand.hpp"
#include "console/reading/spelling.hpp"

using namespace stonecall::reading;

namespace {

std::vector<std::string> texts(std::string_view note) {
  std::vector<std::string> all;
  for (const Token& token : tokenise(note)) all.push_back(token.text);
  return all;
}

using Texts = std::vector<std::string>;

}  // namespace

TEST_CASE("a note is cut into words, numbers and marks") {
  REQUIRE(texts("Bag 31, half-buried.") == Texts{"bag", "31", ",", "half", "buried", "."});
}

TEST_CASE("units and signs written against a number are words of their own") {
  REQUIRE(texts("8cm") == Texts{"8", "cm"});
  REQUIRE(texts("20%") == Texts{"20", "percent"});
  REQUIRE(texts("4\" x 3\"") == Texts{"4", "inch", "by", "3", "inch"});
  REQUIRE(texts("10-15 cm") == Texts{"10", "to", "15", "cm"});
  REQUIRE(texts("3.5 m") == Texts{"3.5", "m"});
  REQUIRE(texts("#31") == Texts{"number", "31"});
}

TEST_CASE("signs that are typed for words are those words") {
  REQUIRE(texts(">50% < 10 %") == Texts{"over", "50", "percent", "under", "10", "percent"});
  REQUIRE(texts("stereo + down sun @ 5") == Texts{"stereo", "plus", "down", "sun", "at", "5"});
  REQUIRE(texts("n=20, 51 -> 53") == Texts{"n", "equals", "20", ",", "51", "to", "53"});
  REQUIRE(texts("w/ pyrite w/o chert") == Texts{"with", "pyrite", "without", "chert"});
  REQUIRE(texts("sun 35\xC2\xB0") == Texts{"sun", "35", "degrees"});
  REQUIRE(texts("a > b") == Texts{"a", "b"});
}

TEST_CASE("a question mark that stands for a kind asks nothing") {
  REQUIRE(texts("8 chert, 1 ?") == Texts{"8", "chert", ",", "1", "unknown"});
  REQUIRE(texts("bag 51?") == Texts{"bag", "51", "?"});
}

TEST_CASE("inches are behind a figure, and no place is") {
  REQUIRE(texts("4 x 3 x 2 in, loose") == Texts{"4", "by", "3", "by", "2", "inches", ",", "loose"});
  REQUIRE(texts("4in across") == Texts{"4", "inches", "across"});
  REQUIRE(texts("7 in bag 8") == Texts{"7", "in", "bag", "8"});
}

TEST_CASE("fillers and stammers leave no words") {
  REQUIRE(texts("um I've got a, a white er crust") == Texts{"i've", "got", "a", "white", "crust"});
  REQUIRE(texts("bag three three") == Texts{"bag", "three", "three"});
}

TEST_CASE("words point at their bytes in the note") {
  const std::string note = "caf\xC3\xA9 \xE2\x80\x94 Bag thirty";
  for (const Token& token : tokenise(note)) {
    REQUIRE(token.words.begin < token.words.end);
    REQUIRE(token.words.end <= note.size());
  }
  const auto tokens = tokenise(note);
  REQUIRE(tokens.at(0).text == "cafe");
  REQUIRE(note.substr(tokens.at(2).words.begin, 3) == "Bag");
}

TEST_CASE("bytes that are not UTF-8 part words and do no harm") {
  REQUIRE(texts("bag\xFFthirty\xC3") == Texts{"bag", "thirty"});
}

TEST_CASE("spelling is near when a letter is wrong, missing, added or swapped") {
  REQUIRE(near("quarzite", "quartzite", 1));
  REQUIRE(near("sampel", "sample", 1));
  REQUIRE(near("graanite", "granite", 1));
  REQUIRE(near("scorea", "scoria", 1));
  REQUIRE_FALSE(near("granted", "granite", 1));
  REQUIRE(near("granted", "granite", 2));
}

TEST_CASE("words that sound alike have the same consonants") {
  CHECK(consonants("lherzolite") == consonants("luresolight"));
  CHECK(consonants("phonolite") == consonants("fonolight"));
  CHECK(consonants("gneiss") == consonants("nice"));
  CHECK(consonants("schist") == consonants("skist"));
  CHECK(consonants("komatiite") == consonants("cometheight"));
  CHECK(consonants("granite") != consonants("granule"));
  CHECK(consonants("eclogite") != consonants("clogite"));  // a vowel begins it
  CHECK(consonants("").empty());
}

TEST_CASE("mm is a unit behind a figure and a hesitation elsewhere") {
  CHECK(texts("12 mm mm across") == Texts{"12", "millimetres", "across"});
  CHECK(texts("mm granite") == Texts{"granite"});
}

TEST_CASE("ordinary words that look like trade words are listed in order, each once") {
  const auto words = look_alikes();
  REQUIRE(std::is_sorted(words.begin(), words.end()));
  REQUIRE(std::adjacent_find(words.begin(), words.end()) == words.end());
}

TEST_CASE("a word is written short without its vowels or with its consonants at both ends") {
  REQUIRE(abbreviates("chlk", "chalk"));
  REQUIRE(abbreviates("ironstn", "ironstone"));
  REQUIRE(abbreviates("gbro", "gabbro"));
  REQUIRE(abbreviates("qtzt", "quartzite"));
  REQUIRE_FALSE(abbreviates("chat", "chalk"));
  REQUIRE_FALSE(abbreviates("slt", "salt marsh"));
  REQUIRE_FALSE(abbreviates("hlk", "chalk"));
  REQUIRE(written_in_full("smpl") == "sample");
  REQUIRE(written_in_full("sample").empty());
  REQUIRE(rock_of_code("sst") == "sandstone");
}
