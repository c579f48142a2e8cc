#include "console/reading/words.hpp"

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include <catch2/catch.hpp>

#include "console/reading/near_words.hpp"
#include "console/reading/own_words.hpp"
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

TEST_CASE("a time of the day is one number, and said to be a time") {
  REQUIRE(texts("at 10:42 we") == Texts{"at", "1042", "o'clock", "we"});
  REQUIRE(texts("9:05:30.") == Texts{"905", "o'clock", "."});
  for (const std::string_view none : {"bag 3: 40 cm", "25:10", "10:99", "10:5", "1:10:2:3"})
    CHECK(std::ranges::count(texts(none), "o'clock") == 0);
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

TEST_CASE("a pause where no clause can end parts nothing") {
  CHECK(texts("in the, silt") == Texts{"in", "the", "silt"});
  CHECK(texts("bag, thirty") == Texts{"bag", "thirty"});
  CHECK(texts("seventy... percent") == Texts{"seventy", "percent"});
  CHECK(texts("six, um, oh four") == Texts{"six", "oh", "four"});
  CHECK(texts("thirty... one") == Texts{"thirty", "one"});
  CHECK(texts("thirty, one") == Texts{"thirty", ",", "one"});  // two numbers
  CHECK(texts("it's, no, chert") == Texts{"it's", ",", "no", ",", "chert"});
}

TEST_CASE("what a transcriber puts in and a word broken off leave no token") {
  CHECK(texts("[10:04] on the spit") == Texts{"on", "the", "spit"});
  CHECK(texts("10:04:22 - on the spit") == Texts{"on", "the", "spit"});
  CHECK(texts("at 10:04") == Texts{"at", "1004", "o'clock"});
  CHECK(texts("sam- sample [inaudible] four") == Texts{"sample", "four"});
  CHECK(texts("fist- sized") == Texts{"fist", ",", "sized"});
  CHECK(texts("no dolomite dolomite") == Texts{"no", "dolomite"});
  CHECK(texts("bag twenty twenty") == Texts{"bag", "twenty", "twenty"});
}

TEST_CASE("one thing is written one way") {
  CHECK(texts("gray graywacke") == Texts{"grey", "greywacke"});
  CHECK(texts("twenty 3") == Texts{"twenty", "three"});
  CHECK(texts("bag thirty 5 cm") == Texts{"bag", "thirty", "5", "cm"});
  CHECK(texts("7 x basalt") == Texts{"7", "basalt"});
  CHECK(texts("7 x 5") == Texts{"7", "by", "5"});
  CHECK(texts("fistsized") == Texts{"fist", "sized"});
  CHECK(texts("⅓ and ⅔") == Texts{"a", "third", "and", "two-thirds"});
  CHECK(texts("bag no. thirty") == Texts{"bag", "number", "thirty"});
  CHECK(texts("approx. 10 cm") == Texts{"approx", "10", "cm"});
}

TEST_CASE("a slip has its kind, the likeliest first") {
  CHECK(slip_between("sapmle", "sample") == Slip::swapped);
  CHECK(slip_between("samplle", "sample") == Slip::swapped);
  CHECK(slip_between("diferent", "different") == Slip::swapped);
  CHECK(slip_between("thiry", "thirty") == Slip::left_out);
  CHECK(slip_between("samsple", "sample") == Slip::put_in);
  CHECK(slip_between("thiry", "third") == Slip::changed);
  CHECK(slip_between("sample", "sample") == Slip::none);
  CHECK(slip_between("smpel", "sample") == Slip::none);
  CHECK(slip_between("", "a") == Slip::left_out);
  CHECK(slip_between("", "") == Slip::none);
}

TEST_CASE("of the words one slip away the likeliest is found") {
  NearWords words;
  words.add("third", 2);
  words.add("thirty", 2);
  words.add("size", 2);
  words.add("oblong shape", 0);  // no word
  words.add("slate", 3);
  words.add("plate", 1);
  CHECK(words.nearest("thiry").word == "thirty");
  CHECK(words.nearest("thirty").cost == 0);
  CHECK(words.nearest("szie").word == "size");
  CHECK(words.nearest("sixe").word.empty());  // so short a word may be anything
  CHECK(words.nearest("hirty").word == "thirty");
  CHECK(words.nearest("hird").word.empty());
  CHECK(words.nearest("splate").word == "slate");
  CHECK(words.nearest("").word.empty());
}

TEST_CASE("no word that the rules ask for is guarded from being mended to") {
  const auto guarded = look_alikes();
  for (const std::string_view word : trade_words()) {
    CAPTURE(word);
    CHECK(own_words().nearest(word).cost == 0);
  }
  for (const std::string_view word : {"looking", "forgot", "walked", "crystals", "misspoke"}) {
    CAPTURE(word);
    CHECK(own_words().nearest(word).cost == 0);
    CHECK_FALSE(std::ranges::binary_search(guarded, word));
  }
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
