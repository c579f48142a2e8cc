#include <algorithm>

#include <catch2/catch.hpp>

#include "console/picture/gaps.hpp"

using namespace stonecall;
using picture::Gap;

namespace {

picture::Sample documented_sample() {
  picture::Sample sample;
  sample.number = "1";
  sample.bag = "30";
  sample.rock = "slate";
  sample.buried = {40, 60};
  sample.like_it = {0, 5};
  sample.picked = "the only dark one";
  sample.relation = "on top of the moraine";
  sample.tie = protocol::Tie{{}, 40, 120};
  for (const auto view :
       {protocol::View::stereo_pair, protocol::View::down_sun, protocol::View::after}) {
    sample.photos.push_back({{}, view, {}});
  }
  return sample;
}

}  // namespace

// What a documented sample needs by default: common practice, no source.
TEST_CASE(
    "a sample with four photographs, bag, tie and what only the finder can tell is documented") {
  CHECK(picture::gaps(documented_sample(), {}).empty());
}

TEST_CASE("left and right picture make a stereo pair, one of them does not") {
  auto sample = documented_sample();
  sample.photos = {sample.photos.begin() + 1, sample.photos.end()};
  sample.photos.push_back({{}, protocol::View::stereo_left, {}});
  CHECK(picture::gaps(sample, {}) == std::vector{Gap::stereo_pair});
  sample.photos.push_back({{}, protocol::View::stereo_right, {}});
  CHECK(picture::gaps(sample, {}).empty());
}

TEST_CASE("each thing that is missing is named once, what can only be had there first") {
  const auto missing = picture::gaps(picture::Sample{}, {});
  CHECK(missing == std::vector{Gap::stereo_pair, Gap::down_sun, Gap::after, Gap::buried,
                               Gap::relation, Gap::like_it, Gap::picked, Gap::tie, Gap::bag,
                               Gap::rock});
  CHECK(std::ranges::is_partitioned(missing, picture::only_there));
}

TEST_CASE("coordinates tie a sample to base as well as bearing and distance do") {
  auto sample = documented_sample();
  sample.tie.reset();
  CHECK(picture::gaps(sample, {}) == std::vector{Gap::tie});
  sample.place = protocol::Position{46, 8, {}};
  CHECK(picture::gaps(sample, {}).empty());
}

TEST_CASE("the plan says what a documented sample needs") {
  protocol::Documentation standard;
  standard.views = {protocol::View::after};
  standard.describes = {protocol::Description::colour};
  standard.bag = false;
  standard.tie = false;
  CHECK(picture::gaps(picture::Sample{}, standard) ==
        std::vector{Gap::after, Gap::rock, Gap::colour});
}

TEST_CASE("every gap has words of its own") {
  for (int i = 0; i <= static_cast<int>(Gap::description); ++i) {
    CAPTURE(i);
    CHECK_FALSE(picture::words(static_cast<Gap>(i)).empty());
    for (int j = 0; j < i; ++j)
      CHECK(picture::words(static_cast<Gap>(i)) != picture::words(static_cast<Gap>(j)));
  }
}
