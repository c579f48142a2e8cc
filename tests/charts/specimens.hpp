#pragma once

#include <cmath>

#include "console/charts/curves.hpp"
#include "console/charts/interval_rows.hpp"
#include "console/charts/plan_view.hpp"
#include "console/charts/timeline.hpp"

/// One of each chart with invented numbers: an exercise on the slopes of the made-up Korrin Flats.
namespace stonecall::charts::specimens {

inline std::vector<Tick> percent_ticks() {
  return {{0, "0"}, {0.25, "25"}, {0.5, "50"}, {0.75, "75"}, {1, "100 %"}};
}

inline IntervalRows shares() {
  IntervalRows rows;
  rows.title = "Share of the ground at Saddle Cut";
  rows.description =
      "Vesicular basalt 66 % (57 to 74), scoria 17 % (11 to 25), obsidian 6 % (2 to 11); pumice "
      "has no basis.";
  rows.width = 480;
  rows.name_gutter = 160;
  rows.value_gutter = 96;
  rows.ticks = percent_ticks();
  rows.rows = {{"vesicular basalt", 0, Interval{0.66, 0.57, 0.74}, Interval{0.31, 0.2, 0.44},
                "66 % (57–74)", false},
               {"scoria", 1, Interval{0.17, 0.11, 0.25}, {}, "17 % (11–25)", false},
               {"obsidian", 2, Interval{0.06, 0.02, 0.11}, {}, "6 % (2–11)", true},
               {"pumice", 3, {}, {}, "no basis", true},
               {"other", {}, Interval{0.02, 0, 0.05}, {}, "2 % (0–5)", false}};
  return rows;
}

inline Crossing stay_or_move() {
  Crossing c;
  c.title = "Gain per minute here and elsewhere";
  c.description = "Staying gains less than moving to Rim Walk from 1:19 on (1:16 to 1:24).";
  c.axis_name = "wanted value per minute";
  c.curve_name = "here";
  c.other_name = "best elsewhere: Rim Walk";
  for (int m = 60; m <= 105; ++m) {
    double y = 0.30 * std::exp(-(m - 60) / 22.0);
    c.curve.push_back({static_cast<double>(m), y, 0.6 * y, 1.45 * y});
    c.other.push_back({static_cast<double>(m), 0.126 - 0.0004 * (m - 60)});
  }
  c.now = 72;
  c.mark = 79;
  c.span = Interval{79, 76, 84};
  return c;
}

inline Growth kinds_met() {
  Growth g;
  g.title = "Kinds met as rocks are looked at";
  g.description = "44 rocks looked at, 5 kinds met; about 5.5 expected after 80.";
  g.x_name = "rocks looked at";
  g.y_name = "kinds met";
  g.now = 44;
  g.now_words = "now: 44, 5 kinds";
  for (int n = 0; n <= 80; n += 2) {
    double y = 1 + 4.6 * (1 - std::exp(-n / 14.0)),
           spread = 0.12 + (n > 44 ? (n - 44) * 0.025 : 0.004 * n);
    g.points.push_back({static_cast<double>(n), y, y - spread, y + spread});
  }
  return g;
}

inline PlanView ground() {
  using Place = PlanView::Place;
  using Way = PlanView::Way;
  PlanView view;
  view.title = "Ground of the exercise";
  view.description =
      "Base in the south-west, four stations; the party is at Saddle Cut, 1.9 km from base.";
  view.places = {{"Base", {0, 0}, Place::Kind::base, false, false},
                 {"North Apron", {480, 740}, Place::Kind::visited, false, false},
                 {"Saddle Cut", {1080, 510}, Place::Kind::visited, true, false},
                 {"Rim Walk", {1720, 790}, Place::Kind::ahead, false, false},
                 {"Fan Toe", {2030, 270}, Place::Kind::ahead, false, false}};
  view.ways = {
      {{{0, 0}, {480, 740}, {1080, 510}, {1720, 790}, {2030, 270}, {0, 0}}, Way::Kind::planned, ""},
      {{{0, 0}, {480, 740}, {1080, 510}}, Way::Kind::walked, ""},
      {{{1080, 510}, {600, 300}, {0, 0}}, Way::Kind::back, "return 1.2 km, 24 min + 20 %"}};
  auto at = [](double e, double n) { return GroundPoint{e, n}; };
  view.finds = {{0, at(400, 690), {}, false},
                {1, at(540, 690), {}, false},
                {4, at(610, 720), {}, false},
                {0, at(940, 530), {}, false},
                {0, at(900, 450), {}, false},
                {1, at(1010, 440), {}, false},
                {2, at(1230, 480), {}, false},
                {3, at(1170, 430), {}, true},
                {0, {}, 2, false},
                {1, {}, 2, false},
                {6, {}, 2, false}};
  view.sun_azimuth = 128;
  return view;
}

inline Timeline day() {
  Timeline t;
  t.title = "Timeline, planned above and walked below";
  t.description =
      "North Apron and Saddle Cut walked; departure advised for 1:19; latest departure 1:39.";
  t.planned = {{"Base", 0, 10},       {"North Apron", 14, 32}, {"Saddle Cut", 39, 79},
               {"Rim Walk", 86, 112}, {"Fan Toe", 118, 134},   {"Base", 144, 150}};
  t.walked = {{"Base", 0, 11}, {"North Apron", 16, 33}, {"Saddle Cut", 39, 72.6}};
  t.moments = {{19, "", false, false},
               {27, "", false, false},
               {29, "", true, false},
               {58, "", true, false},
               {79, "advised 1:19 (1:16–1:24)", true, true},
               {99, "latest departure 1:39", true, false}};
  t.now = 72.6;
  t.span = Interval{79, 76, 84};
  return t;
}

}  // namespace stonecall::charts::specimens
