#include "console/estimate/basis.hpp"

#include <cmath>

namespace stonecall::estimate {

std::string_view to_string(NoBasis reason) {
  switch (reason) {
    case NoBasis::nothing_counted:
      return "no basis: nothing counted without choosing";
    case NoBasis::too_few_counted:
      return "no basis: fewer than two rocks counted";
    case NoBasis::too_few_looks:
      return "no basis: needs two looks or more";
    case NoBasis::all_seen_once:
      return "no basis: every rare kind seen only once";
    case NoBasis::outside_the_data:
      return "no basis: beyond what was counted";
    case NoBasis::no_prior:
      return "no basis: neither record nor plan";
    case NoBasis::not_possible:
      return "not possible: a figure outside its range";
  }
  return "no basis";
}

bool is_amount(double x) {
  return x >= 0 && std::isfinite(x);
}

}  // namespace stonecall::estimate
