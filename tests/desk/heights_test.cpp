#include "console/desk/heights.hpp"

#include <random>

#include <catch2/catch.hpp>

using namespace stonecall::desk;

TEST_CASE("the row at a height is the one that covers it") {
  Heights heights;
  for (double h : {20.0, 40.0, 20.0}) heights.push_back(h);
  CHECK(heights.row_at(-5) == 0);
  CHECK(heights.row_at(0) == 0);
  CHECK(heights.row_at(19.9) == 0);
  CHECK(heights.row_at(20) == 1);
  CHECK(heights.row_at(59.9) == 1);
  CHECK(heights.row_at(60) == 2);
  CHECK(heights.row_at(1000) == 2);
}

TEST_CASE("no rows have no height and no fault") {
  Heights heights;
  CHECK(heights.total() == 0);
  CHECK(heights.row_at(10) == 0);
}

TEST_CASE("corrected, added and forgotten rows give the sums that plain adding gives") {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> high(10, 90);
  Heights heights;
  std::vector<double> plain;
  for (int step = 0; step < 3000; ++step) {
    switch (random() % 8) {
      case 0:
        if (plain.size() > 10) {
          plain.resize(plain.size() - random() % 5);
          heights.resize_down(plain.size());
        }
        break;
      case 1:
      case 2:
        if (!plain.empty()) {
          std::size_t row = random() % plain.size();
          plain[row] = high(random);
          heights.set(row, plain[row]);
        }
        break;
      default:
        plain.push_back(high(random));
        heights.push_back(plain.back());
    }
  }
  double sum = 0;
  for (std::size_t row = 0; row < plain.size(); ++row) {
    REQUIRE(heights.above(row) == Approx(sum));
    REQUIRE(heights.row_at(sum + plain[row] / 2) == row);
    sum += plain[row];
  }
  CHECK(heights.total() == Approx(sum));
}
