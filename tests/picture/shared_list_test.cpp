#include "console/picture/shared_list.hpp"

#include <algorithm>
#include <array>
#include <numeric>
#include <vector>

#include <catch2/catch.hpp>

using stonecall::picture::SharedList;

namespace {

/// A number as large as makes 64 to a piece.
struct Wide {
  Wide(int number = 0) : value(number) {}  // NOLINT(google-explicit-constructor)
  operator int() const { return value; }   // NOLINT(google-explicit-constructor)
  int value;
  std::array<char, 60> rest{};
};

SharedList<Wide> upto(int count) {
  SharedList<Wide> list;
  for (int i = 0; i < count; ++i) list.push_back(i);
  return list;
}

std::vector<int> plain(const SharedList<Wide>& list) {
  return {list.begin(), list.end()};
}

}  // namespace

TEST_CASE("a shared list is read like a vector") {
  const auto list = upto(200);
  CHECK(list.size() == 200);
  CHECK(list.front() == 0);
  CHECK(list.back() == 199);
  CHECK(*list.rbegin() == 199);
  CHECK(std::accumulate(list.begin(), list.end(), 0) == 199 * 200 / 2);
  CHECK(*std::lower_bound(list.begin(), list.end(), 130) == 130);
  CHECK(list.end() - list.begin() == 200);
  CHECK(SharedList<Wide>{}.empty());
}

TEST_CASE("a copy of a shared list stays as it was, whichever of the two is written to") {
  // Around the length of a piece, within it and at its ends.
  const int size = GENERATE(1, 63, 64, 65, 128, 200);
  auto list = upto(size);
  auto copy = list;
  const auto kept = list;
  const auto as_it_was = plain(kept);

  list.change(0) = -1;
  list.push_back(1000);
  copy.change(static_cast<std::size_t>(size) - 1) = -2;
  copy.push_back(2000);

  CHECK(plain(kept) == as_it_was);
  CHECK(list.size() == as_it_was.size() + 1);
  CHECK(list.front() == -1);
  CHECK(list.back() == 1000);
  CHECK(copy[static_cast<std::size_t>(size) - 1] == -2);
  CHECK(copy.back() == 2000);
  if (size > 1) CHECK(copy.front() == 0);
}

TEST_CASE("elements that nobody wrote to are one and the same in all copies of a shared list") {
  auto list = upto(200);
  const auto copy = list;
  list.change(70) = -1;
  CHECK(&list[0] == &copy[0]);
  CHECK(&list[199] == &copy[199]);
  CHECK(&list[70] != &copy[70]);
}

TEST_CASE("what a shared list has made its own is written in place, until it is copied again") {
  auto list = upto(100);
  auto first = list;
  list.change(3) = -1;
  const Wide* place = &list[3];
  list.change(3) = -2;
  CHECK(&list[3] == place);
  const auto second = list;
  list.change(3) = -3;
  CHECK(second[3] == -2);
  CHECK(first[3] == 3);
}

TEST_CASE("shared lists are equal where their elements are") {
  auto list = upto(100);
  const auto copy = list;
  CHECK(list == copy);
  CHECK(list == upto(100));
  list.change(99) = 0;
  CHECK_FALSE(list == copy);
  CHECK_FALSE(upto(99) == copy);
}

TEST_CASE("a shared list that was moved from is empty and can be used again") {
  auto list = upto(70);
  const auto taken = std::move(list);
  list = {7};
  list.push_back(8);
  CHECK(taken.size() == 70);
  CHECK(plain(list) == std::vector{7, 8});
}
