#include "console/commands/moves.hpp"

#include <catch2/catch.hpp>

#include "tests/support/events.hpp"

using namespace stonecall;
using commands::Clue;
using What = commands::Clue::What;

namespace {

protocol::Instant at(double minute) {
  return test::clock(minute).instant;
}

Clue arrived(double minute, std::string station) {
  return {at(minute), What::arrived, std::move(station), "", ""};
}
Clue left(double minute, std::string station, std::string towards = "") {
  return {at(minute), What::left, std::move(station), std::move(towards), ""};
}
Clue present(double minute, std::string station) {
  return {at(minute), What::present, std::move(station), "", "line 3"};
}
Clue told(double minute) {
  return {at(minute), What::told, "", "", ""};
}

commands::Moves moves(std::vector<Clue> clues) {
  return commands::infer_moves(std::move(clues), "BASE");
}

}  // namespace

TEST_CASE("where every arrival is called nothing is inferred") {
  const auto found = moves({left(0, "BASE"), arrived(10, "Ford"), present(12, "Ford"), told(12),
                            left(40, "Ford", "Terrace"), arrived(50, "Terrace"), told(55)});
  CHECK(found.arrivals.empty());
  CHECK(found.nowhere.empty());
}

TEST_CASE("on the way a sample catalogued with a station is an arrival there") {
  const auto found = moves({arrived(10, "Ford"), left(40, ""), present(52, "Terrace"), told(52)});
  REQUIRE(found.arrivals.size() == 1);
  CHECK(found.arrivals[0].station == "Terrace");
  CHECK(found.arrivals[0].at == at(52));
  CHECK(found.arrivals[0].why == "line 3");
  CHECK(found.nowhere.empty());
}

TEST_CASE("heading for the station they are there with the first thing told") {
  const auto found = moves({arrived(10, "Ford"), left(40, "Ford", "Terrace"), told(51),
                            present(58, "Terrace"), told(58)});
  REQUIRE(found.arrivals.size() == 1);
  CHECK(found.arrivals[0].at == at(51));
  // Of another station than the one headed for, the sign alone counts.
  const auto elsewhere =
      moves({arrived(10, "Ford"), left(40, "Ford", "Terrace"), told(51), present(58, "Quarry")});
  REQUIRE(elsewhere.arrivals.size() == 1);
  CHECK(elsewhere.arrivals[0].at == at(58));
  REQUIRE(elsewhere.nowhere.size() == 1);
  CHECK(elsewhere.nowhere[0].facts == 1);
  CHECK(elsewhere.nowhere[0].towards == "Terrace");
}

TEST_CASE("a station left by name was reached before") {
  const auto found = moves(
      {arrived(10, "Ford"), left(40, "Ford"), told(53), told(57), left(70, "Terrace", "BASE")});
  REQUIRE(found.arrivals.size() == 1);
  CHECK(found.arrivals[0].station == "Terrace");
  CHECK(found.arrivals[0].at == at(53));
  CHECK(found.nowhere.empty());
  // With nothing told, all that is sure is the moment of leaving.
  CHECK(moves({left(70, "Terrace")}).arrivals[0].at == at(70));
  // Said twice it is the same leaving.
  CHECK(moves({arrived(10, "Ford"), left(40, "Ford"), left(42, "Ford")}).arrivals.empty());
}

TEST_CASE("leaving without a name is leaving the place headed for, where something was told") {
  const auto found =
      moves({arrived(10, "Ford"), left(40, "Ford", "Terrace"), told(55), left(70, "", "BASE")});
  REQUIRE(found.arrivals.size() == 1);
  CHECK(found.arrivals[0].station == "Terrace");
  CHECK(found.arrivals[0].at == at(55));
  CHECK(moves({arrived(10, "Ford"), left(40, "Ford", "Terrace"), left(45, "")}).arrivals.empty());
}

TEST_CASE("at a station one sign of another is an error, and signs that all agree are a move") {
  CHECK(moves({arrived(10, "Ford"), present(20, "Terrace"), present(25, "Ford")}).arrivals.empty());
  CHECK(moves({arrived(10, "Ford"), present(20, "Terrace")}).arrivals.empty());
  const auto found = moves(
      {arrived(10, "Ford"), present(15, "Ford"), present(50, "Terrace"), present(55, "Terrace")});
  REQUIRE(found.arrivals.size() == 1);
  CHECK(found.arrivals[0].at == at(50));
}

TEST_CASE("what is told before anybody says where stands nowhere, and is counted") {
  const auto found = moves({told(5), told(8), arrived(10, "Ford"), told(12)});
  CHECK(found.arrivals.empty());
  REQUIRE(found.nowhere.size() == 1);
  CHECK(found.nowhere[0].facts == 2);
  CHECK(found.nowhere[0].from == at(5));
  CHECK(found.nowhere[0].to == at(8));
}
