// Writes an event of every kind as our own code does, for a reader we did not write.
#include <iostream>

#include "tests/support/one_of_each.hpp"

int main() {
  for (const auto& event : stonecall::test::one_of_each())
    std::cout << stonecall::protocol::to_line(event) << '\n';
}
