#include "console/plates/kinds_plate.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "console/plates/count_text.hpp"

namespace stonecall::plates {
namespace {

std::string percent(double fraction) {
  double p = fraction * 100;
  return p > 0 && p < 0.95 ? fmt::format("{:.1f}", p) : fmt::format("{:.0f}", p);
}

}  // namespace

bool says_something(const advise::KindRow& row) {
  return row.wanted > 0 || row.bagged > 0 || row.counted > 0 || row.first_seen || row.said_absent;
}

std::string mean_text(const advise::Figure& share) {
  return percent(share.mean) + " %";
}

std::string interval_text(const advise::Figure& share) {
  if (share.high < 0.02) return percent(share.low) + "–" + percent(share.high);
  return fmt::format("{:.0f}–{:.0f}", share.low * 100, share.high * 100);
}

std::string share_text(const advise::Figure& share) {
  return mean_text(share) + " (" + interval_text(share) + ")";
}

charts::IntervalRows share_plate(const advise::Ground& ground,
                                 const std::vector<std::size_t>& rows) {
  charts::IntervalRows plate;
  plate.title = ground.station.empty() ? "Share of the ground, whole exercise"
                                       : "Share of the ground at " + ground.station;
  plate.ticks = {{0, "0"}, {0.25, "25"}, {0.5, "50"}, {0.75, "75"}, {1, "100"}};
  for (std::size_t index : rows) {
    const advise::KindRow& kind = ground.kinds[index];
    charts::IntervalRows::Row row{.name = kind.rock, .series = index};
    row.faint = !kind.first_seen;
    if (kind.share) {
      row.value = charts::Interval{kind.share->mean, kind.share->low, kind.share->high};
      row.words = share_text(*kind.share);
    } else {
      row.words = kind.said_absent ? "named absent" : kind.first_seen ? "no basis" : "not met";
    }
    if (!plate.description.empty()) plate.description += "; ";
    plate.description += kind.rock + " " + row.words;
    plate.rows.push_back(std::move(row));
  }
  plate.description += ". " + basis_text(ground.basis);
  return plate;
}

advise::Ground in_order_of(const advise::Ground& ground, const advise::Ground& order) {
  advise::Ground ordered = ground;
  ordered.kinds.clear();
  const auto known = [](const advise::Ground& in, const std::string& rock) {
    return std::ranges::find(in.kinds, rock, &advise::KindRow::rock);
  };
  for (const auto& kind : order.kinds) {
    const auto row = known(ground, kind.rock);
    if (row != ground.kinds.end())
      ordered.kinds.push_back(*row);
    else
      ordered.kinds.emplace_back().rock = kind.rock;
  }
  for (const auto& kind : ground.kinds)
    if (known(order, kind.rock) == order.kinds.end()) ordered.kinds.push_back(kind);
  return ordered;
}

charts::IntervalRows then_and_end_plate(const advise::Ground& then, const advise::Ground& end,
                                        const std::vector<std::size_t>& rows) {
  charts::IntervalRows plate = share_plate(then, rows);
  plate.title += " as known then and as known at the end";
  plate.description.clear();
  for (std::size_t i = 0; i < rows.size(); ++i) {
    auto& row = plate.rows[i];
    const auto& was = then.kinds[rows[i]].share;
    const auto& now = end.kinds[rows[i]].share;
    row.faint = !was;
    if (now) row.beside = charts::Interval{now->mean, now->low, now->high};
    plate.description +=
        fmt::format("{}{} then {}, at the end {}", i == 0 ? "" : "; ", row.name,
                    was ? share_text(*was) : "no basis", now ? share_text(*now) : "no basis");
  }
  plate.description += ".";
  return plate;
}

charts::Growth growth_plate(const advise::NotSeenYet& unseen) {
  charts::Growth plate;
  plate.title = "Kinds met as rocks are looked at";
  plate.y_name = "kinds met, expected with 90 %";
  plate.x_name = "rocks looked at";
  plate.now = static_cast<double>(unseen.counted);
  plate.now_words =
      fmt::format("now: {}, {}", unseen.counted, count(unseen.kinds_met, "kind", "kinds"));
  for (const auto& p : unseen.growth) plate.points.push_back({p.rocks, p.kinds, p.low, p.high});
  plate.description = fmt::format("{} looked at, {} met", count(unseen.counted, "rock", "rocks"),
                                  count(unseen.kinds_met, "kind", "kinds"));
  if (!unseen.growth.empty() && unseen.growth.back().rocks > plate.now) {
    const auto& last = unseen.growth.back();
    plate.description += fmt::format("; after {:.0f} about {:.1f} ({:.1f} to {:.1f}) are expected",
                                     last.rocks, last.kinds, last.low, last.high);
  }
  plate.description += ".";
  return plate;
}

std::string label_text(const advise::KindRow& row) {
  if (row.label.empty()) return {};
  auto text = fmt::format("{} here ({:.0f} %)", row.label, row.label_probability * 100);
  if (row.reach == "local here") text += ", at none of the other stops";
  if (row.reach == "in places") text += ", at some of the other stops";
  if (row.reach == "everywhere") text += ", at all other stops too";
  return text;
}

std::string basis_text(const advise::Basis& basis) {
  std::string text;
  if (!basis.any()) {
    text = "No basis: nothing counted, no share spoken";
  } else {
    text = "Rests on ";
    if (basis.counted > 0) {
      text += fmt::format("{} counted", basis.counted);
      if (basis.looks > 0) text += " in " + count(basis.looks, "look", "looks");
      if (basis.unselective > 0)
        text += (basis.looks > 0 ? " and " : " in ") +
                count(basis.unselective, "unselective sample", "unselective samples");
    }
    if (basis.counted > 0 && basis.spoken_shares > 0)
      text += basis.unselective > 0 ? ", and " : " and ";
    if (basis.spoken_shares > 0)
      text += count(basis.spoken_shares, "spoken share", "spoken shares");
  }
  if (basis.chosen_not_used > 0)
    text += "; " + count(basis.chosen_not_used, "chosen sample", "chosen samples") + " not used";
  text += ".";
  if (basis.design_effect > 1.05 && basis.counted > 0)
    text += " Patchy ground: they tell as much as " +
            count(std::lround(static_cast<double>(basis.counted) / basis.design_effect), "rock",
                  "rocks") +
            " picked singly.";
  return text;
}

}  // namespace stonecall::plates
