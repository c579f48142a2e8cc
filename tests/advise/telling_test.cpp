#include "console/advise/telling.hpp"

#include <catch2/catch.hpp>

using namespace stonecall::advise;
using namespace std::chrono_literals;

namespace {

std::string in_minutes(stonecall::protocol::Milliseconds elapsed) {
  return std::to_string(elapsed / 1min) + " min";
}

}  // namespace

TEST_CASE("moments in words are written as whoever shows them writes them, and nothing else is") {
  const Telling telling = "Ratio 1:19, leave between " + Telling::moment(79min) + " and " +
                          Telling::moment(84min) + ".";
  CHECK(telling == "Ratio 1:19, leave between 1:19 and 1:24.");
  CHECK(telling.told(in_minutes) == "Ratio 1:19, leave between 79 min and 84 min.");
}

TEST_CASE("words joined from parts keep the moments of each part") {
  Telling telling = Telling::moment(5min) + " to ";
  telling += Telling::moment(65min);
  telling += " or " + Telling::moment(3h);
  CHECK(telling == "0:05 to 1:05 or 3:00");
  CHECK(telling.told(in_minutes) == "5 min to 65 min or 180 min");
}

TEST_CASE("words without a moment are told as they are") {
  const Telling telling("Count ten at 1:19.");
  CHECK(telling.told(in_minutes) == "Count ten at 1:19.");
  CHECK(Telling().told(in_minutes).empty());
  CHECK(Telling().empty());
}
