#include "protocol/apart.hpp"

#include <string>

#include <catch2/catch.hpp>

using stonecall::protocol::Apart;

TEST_CASE("a value kept apart takes the room of a pointer") {
  STATIC_REQUIRE(sizeof(Apart<std::string>) == sizeof(void*));
}

TEST_CASE("a value kept apart reads like an optional") {
  Apart<std::string> said;
  CHECK_FALSE(said);
  CHECK(said.value_or("nothing") == "nothing");
  CHECK(said == std::nullopt);
  said = "scoria";
  REQUIRE(said);
  CHECK(*said == "scoria");
  CHECK(said->size() == 6);
  CHECK(said == "scoria");
  CHECK(std::optional<std::string>(said) == "scoria");
  said = std::optional<std::string>{};
  CHECK_FALSE(said.has_value());
}

TEST_CASE("copies of a value kept apart share it until one of them is written to") {
  Apart<std::string> said = "scoria";
  const auto copy = said;
  CHECK(&*copy == &*said);
  said.change() += " bomb";
  CHECK(copy == "scoria");
  CHECK(said == "scoria bomb");
  said.reset();
  CHECK(copy == "scoria");
}

TEST_CASE("values kept apart are equal where the values are") {
  const Apart<std::string> one = "scoria", other = "scoria";
  CHECK(one == other);
  CHECK_FALSE(one == Apart<std::string>("pumice"));
  CHECK_FALSE(one == Apart<std::string>{});
  CHECK(Apart<std::string>{} == Apart<std::string>{});
}
