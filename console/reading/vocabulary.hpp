#pragma once

#include <string>
#include <vector>

namespace stonecall::reading {

/// A name and what it is called in speech besides. Plurals need not be listed.
struct Named {
  std::string name;
  std::vector<std::string> spoken;
  bool operator==(const Named&) const = default;
};

/// What a plan brings to reading: the team's rock kinds and the stations.
struct Vocabulary {
  std::vector<Named> rocks;
  std::vector<Named> stations;
  bool operator==(const Vocabulary&) const = default;
};

}  // namespace stonecall::reading
