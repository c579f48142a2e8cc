#include "console/estimate/size_class.hpp"

#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

namespace stonecall::estimate {

TEST_CASE("A class holds its lower limit and not its upper one") {
  CHECK(size_class(SizeScale::wentworth, 64)->name == "cobble");
  CHECK(size_class(SizeScale::wentworth, std::nextafter(64.0, 0.0))->name == "pebble");
  CHECK(size_class(SizeScale::iso_14688_1, 63)->name == "cobble");
  CHECK(roundness_class(0.17)->name == "angular");
  CHECK(roundness_class(1.0)->name == "well rounded");
}

TEST_CASE("Each scale runs on without a gap") {
  for (const auto scale : {SizeScale::wentworth, SizeScale::iso_14688_1}) {
    const auto classes = size_classes(scale);
    CHECK(classes.front().lower_mm == 0);
    CHECK_FALSE(classes.back().upper_mm.has_value());
    for (std::size_t i = 1; i < classes.size(); ++i)
      CHECK(classes[i].lower_mm == classes[i - 1].upper_mm);
  }
  const auto classes = roundness_classes();
  for (std::size_t i = 1; i < classes.size(); ++i) CHECK(classes[i].lower == classes[i - 1].upper);
}

TEST_CASE("Wentworth's limits are whole numbers of phi") {
  for (const auto& each : size_classes(SizeScale::wentworth)) {
    if (each.lower_mm > 0) CHECK(*phi(each.lower_mm) == std::round(*phi(each.lower_mm)));
  }
}

TEST_CASE("What is not a size has no class") {
  for (const double size : {0.0, -3.0, std::nan("")}) {
    CHECK_FALSE(size_class(SizeScale::wentworth, size).has_value());
    CHECK_FALSE(phi(size).has_value());
  }
  CHECK_FALSE(phi(std::numeric_limits<double>::infinity()).has_value());
  CHECK_FALSE(roundness_class(0.05).has_value());
  CHECK_FALSE(roundness_class(1.2).has_value());
  CHECK_FALSE(roundness_class(std::nan("")).has_value());
}

}  // namespace stonecall::estimate
