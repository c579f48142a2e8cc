#include <cmath>
#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "tests/charts/specimens.hpp"

using namespace stonecall::charts;

namespace {

/// Is all that is drawn finite, and inside the chart but for half a mark or a stroke?
void check_inside(const Chart& chart) {
  constexpr double edge = 12;
  auto inside = [&](Point p) {
    return std::isfinite(p.x) && std::isfinite(p.y) && p.x >= -edge && p.y >= -edge &&
           p.x <= chart.width + edge && p.y <= chart.height + edge;
  };
  auto all = [&](const Item& item) {
    return std::visit(
        [&](const auto& i) {
          using T = std::decay_t<decltype(i)>;
          if constexpr (std::is_same_v<T, Line>) return inside(i.from) && inside(i.to);
          if constexpr (std::is_same_v<T, Polyline>)
            return std::all_of(i.points.begin(), i.points.end(), inside);
          if constexpr (std::is_same_v<T, Band>)
            return std::all_of(i.slices.begin(), i.slices.end(), [&](const auto& s) {
              return inside({s.x, s.top}) && inside({s.x, s.bottom});
            });
          if constexpr (std::is_same_v<T, Block>)
            return inside({i.box.x, i.box.y}) && inside({i.box.right(), i.box.bottom()});
          if constexpr (std::is_same_v<T, Mark> || std::is_same_v<T, Label>) return inside(i.at);
        },
        item);
  };
  for (std::size_t i = 0; i < chart.items.size(); ++i) {
    INFO("item " << i << " of kind " << chart.items[i].index());
    REQUIRE(all(chart.items[i]));
  }
}

std::vector<Label> labels(const Chart& chart) {
  std::vector<Label> found;
  for (const Item& item : chart.items)
    if (auto* l = std::get_if<Label>(&item)) found.push_back(*l);
  return found;
}

bool says(const Chart& chart, const std::string& words) {
  for (const Label& l : labels(chart))
    if (l.text == words) return true;
  return false;
}

/// Numbers that charts get in bad hours.
double odd_number(std::mt19937& random) {
  switch (std::uniform_int_distribution<int>(0, 9)(random)) {
    case 0:
      return std::numeric_limits<double>::quiet_NaN();
    case 1:
      return std::numeric_limits<double>::infinity();
    case 2:
      return -std::numeric_limits<double>::infinity();
    case 3:
      return 1e300;
    case 4:
      return -1e300;
    case 5:
      return 0;
    case 6:
      return 5e-324;
    default:
      return std::uniform_real_distribution<double>(-200, 200)(random);
  }
}

}  // namespace

TEST_CASE("each chart of a good day lies inside its frame") {
  check_inside(interval_rows(specimens::shares()));
  check_inside(crossing(specimens::stay_or_move()));
  check_inside(growth(specimens::kinds_met()));
  check_inside(timeline(specimens::day()));
  auto view = specimens::ground();
  check_inside(plan_view(view, 500, 260, fitted(view, 500, 260)).chart);
}

TEST_CASE("whatever the numbers, what is drawn is finite and inside the frame") {
  std::mt19937 random(20);
  for (int round = 0; round < 400; ++round) {
    IntervalRows rows = specimens::shares();
    rows.low = round % 3 ? 0 : odd_number(random);
    for (auto& row : rows.rows)
      row.value = Interval{odd_number(random), odd_number(random), odd_number(random)};
    check_inside(interval_rows(rows));

    Crossing c = specimens::stay_or_move();
    for (auto& p : c.curve)
      if (round % 2)
        p.y = odd_number(random), p.high = odd_number(random), p.low = odd_number(random);
    for (auto& p : c.other) p.y = odd_number(random);
    c.now = odd_number(random), c.mark = odd_number(random);
    c.span = Interval{0, odd_number(random), odd_number(random)};
    check_inside(crossing(c));

    Growth g = specimens::kinds_met();
    for (auto& p : g.points)
      p.y = odd_number(random), p.low = odd_number(random), p.high = odd_number(random);
    g.now = odd_number(random);
    check_inside(growth(g));

    Timeline t = specimens::day();
    for (auto& s : t.planned) s.from = odd_number(random), s.to = odd_number(random);
    for (auto& s : t.walked) s.from = odd_number(random), s.to = odd_number(random);
    for (auto& m : t.moments) m.at = odd_number(random);
    t.now = odd_number(random);
    check_inside(timeline(t));

    PlanView view = specimens::ground();
    for (auto& p : view.places) p.at = {odd_number(random), odd_number(random)};
    for (auto& w : view.ways)
      for (auto& p : w.points) p = {odd_number(random), odd_number(random)};
    for (auto& f : view.finds)
      if (f.at) f.at = {odd_number(random), odd_number(random)};
    view.sun_azimuth = odd_number(random);
    check_inside(plan_view(view, 500, 260, fitted(view, 500, 260)).chart);
  }
}

TEST_CASE("no curve runs through the name of the best elsewhere, however low the chart") {
  const Measure& measure = estimated_width;
  Crossing spec = specimens::stay_or_move();
  spec.axis_name = "worth per minute, 10–90 %";
  spec.height = GENERATE(90.0, 104.0, 124.0, 150.0, 220.0);
  spec.width = GENERATE(330.0, 460.0, 900.0);
  // What is to be had elsewhere goes up and down with the way there, and stops.
  const std::vector<std::vector<double>> courses{
      {0.10, 0.08, 0.07, 0.06, 0.05, 0.06, 0.10, 0.15, 0.18, 0.26, 0.26, 0.12, 0.10, 0, 0},
      {0.28, 0.24, 0.20, 0.02, 0.02, 0.20, 0.20, 0.02, 0.02, 0.29, 0.29, 0.02, 0.3, 0.3, 0.3},
      {0.02, 0.30, 0.02, 0.30, 0.02, 0.30, 0.02, 0.30, 0.02, 0.30, 0.02, 0.30, 0.02, 0.30, 0.02},
      {0.01},
      {0.60},
      {0.55, 0.60, 0.50, 0.60, 0.58, 0.60, 0.40, 0.60, 0.60, 0.10}};
  const auto& course = courses[GENERATE(0U, 1U, 2U, 3U, 4U, 5U)];
  for (std::size_t i = 0; i < spec.other.size(); ++i)
    spec.other[i].y = course[i * course.size() / spec.other.size()];
  const Chart chart = crossing(spec, measure);
  const auto named = std::ranges::find_if(chart.items, [](const Item& item) {
    const auto* label = std::get_if<Label>(&item);
    return label && label->text.starts_with("best");
  });
  REQUIRE(named != chart.items.end());
  const Box name = area_of(std::get<Label>(*named), measure);
  CAPTURE(spec.height, spec.width, course.size(), name.x, name.y);
  for (const Item& item : chart.items) {
    if (const auto* label = std::get_if<Label>(&item); label && &item != &*named)
      CHECK_FALSE(area_of(*label, measure).touches(name));
    const auto* line = std::get_if<Polyline>(&item);
    if (!line) continue;
    constexpr int parts = 200;
    for (std::size_t i = 1; i < line->points.size(); ++i)
      for (int k = 0; k <= parts; ++k) {
        const Point &a = line->points[i - 1], &b = line->points[i];
        const Point on{a.x + (b.x - a.x) * k / parts, a.y + (b.y - a.y) * k / parts};
        if (name.contains(on)) {
          CAPTURE(on.x, on.y);
          FAIL("a curve runs through the name");
        }
      }
  }
}

TEST_CASE("the name of the best elsewhere is cut to fit, however long somebody named the place") {
  Crossing spec = specimens::stay_or_move();
  spec.other_name = "best elsewhere: Upper Shelf with a very long name that nobody says whole";
  spec.width = 360;
  const Measure measure = estimated_width;
  const Chart chart = crossing(spec, measure);
  bool found = false;
  for (const Item& item : chart.items)
    if (const auto* label = std::get_if<Label>(&item);
        label && label->text.starts_with("best elsewhere: Upper")) {
      found = true;
      const double width = measure(label->text, label->size, label->weight);
      CHECK(label->anchor == Anchor::end);
      CHECK(label->at.x - width >= 0);
      CHECK(label->at.x <= chart.width);
      CHECK(label->text.ends_with("…"));
    }
  CHECK(found);
}

TEST_CASE("a chart with nothing to show is empty and does not fail") {
  CHECK(crossing({}).items.empty());
  CHECK(growth({}).items.empty());
  check_inside(interval_rows({}));
  check_inside(timeline({}));
  check_inside(plan_view({}, 300, 200, fitted({}, 300, 200)).chart);
}

TEST_CASE("a row without a value says so in words instead of a dot") {
  Chart chart = interval_rows(specimens::shares());
  CHECK(says(chart, "no basis"));
  auto marks_on_row = [&](std::size_t row) {
    double y = (static_cast<double>(row) + 0.5) * 30;
    return std::count_if(chart.items.begin(), chart.items.end(), [&](const Item& i) {
      auto* m = std::get_if<Mark>(&i);
      return m && std::abs(m->at.y - y) < 10 && m->at.x > 160;
    });
  };
  CHECK(marks_on_row(1) == 1);
  CHECK(marks_on_row(3) == 0);
}

TEST_CASE("names on a plan view never cover each other") {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> east(-900, 900), north(-500, 500);
  for (int round = 0; round < 60; ++round) {
    PlanView view;
    for (int i = 0; i < 30; ++i)
      view.places.push_back({"Station number " + std::to_string(i),
                             {east(random), north(random)},
                             PlanView::Place::Kind::visited,
                             i == 7,
                             false});
    auto plan = plan_view(view, 500, 300, fitted(view, 500, 300));
    auto names = labels(plan.chart);
    for (std::size_t a = 0; a < names.size(); ++a)
      for (std::size_t b = 0; b < a; ++b) {
        INFO(names[a].text << " / " << names[b].text);
        REQUIRE_FALSE(
            area_of(names[a], estimated_width).touches(area_of(names[b], estimated_width)));
      }
  }
}

TEST_CASE("where names are crowded the place where the party is keeps its own") {
  PlanView view;
  for (int i = 0; i < 60; ++i)
    view.places.push_back({"Stop " + std::to_string(i),
                           {i * 5.0, (i % 7) * 4.0},
                           PlanView::Place::Kind::visited,
                           i == 41,
                           false});
  auto plan = plan_view(view, 400, 240, fitted(view, 400, 240));
  CHECK(says(plan.chart, "Stop 41"));
  CHECK(labels(plan.chart).size() < 60);
}

TEST_CASE("a name too long for the plan view is shortened, not left out") {
  PlanView view;
  const std::string name = "Upper shelf below the second waterfall, north bank";
  view.places.push_back({"Base", {0, 0}, PlanView::Place::Kind::base, false, false});
  view.places.push_back({name, {400, 300}, PlanView::Place::Kind::ahead, false, false});
  auto plan = plan_view(view, 200, 150, fitted(view, 200, 150));
  check_inside(plan.chart);
  CHECK_FALSE(says(plan.chart, name));
  auto names = labels(plan.chart);
  CHECK(std::any_of(names.begin(), names.end(), [](const Label& l) {
    return l.text.starts_with("Upper") && l.text.ends_with("…");
  }));
}

TEST_CASE("a short way back keeps its words") {
  PlanView view;
  view.places.push_back({"Base", {0, 0}, PlanView::Place::Kind::base, false, false});
  view.places.push_back({"Shelf", {0, 200}, PlanView::Place::Kind::visited, true, false});
  view.ways.push_back(
      {{{0, 200}, {0, 0}}, PlanView::Way::Kind::back, "return 200 m, 4 min + 20 %"});
  auto plan = plan_view(view, 400, 200, {{0, 100}, 10});  // the way is 20 pixels long
  CHECK(says(plan.chart, "return 200 m, 4 min + 20 %"));
}

TEST_CASE("fitting shows every place, and a single place with ground around it") {
  auto view = specimens::ground();
  auto plan = plan_view(view, 500, 260, fitted(view, 500, 260));
  for (const auto& place : view.places) CHECK(says(plan.chart, place.name));
  PlanView one;
  one.places.push_back({"Base", {5, 5}, PlanView::Place::Kind::base, true, false});
  Viewport v = fitted(one, 400, 200);
  CHECK(v.centre == GroundPoint{5, 5});
  CHECK(v.metres_per_pixel * 200 == Approx(400));
}

TEST_CASE("a plan view picks the nearest mark within reach, and nothing where there is none") {
  auto view = specimens::ground();
  auto plan = plan_view(view, 500, 260, fitted(view, 500, 260));
  for (const auto& spot : plan.spots) {
    auto picked = spot_at(plan, spot.at, 6);
    REQUIRE(picked);
    CHECK(std::hypot(picked->at.x - spot.at.x, picked->at.y - spot.at.y) < 1e-9);
  }
  CHECK_FALSE(spot_at(plan, {499, 2}, 6));
}

TEST_CASE("zooming keeps the ground under the pointer where it is") {
  Viewport v{{120, -40}, 3};
  Point pixel{77, 190};
  for (double factor : {1.25, 0.5, 1e9, 1e-9, 0.0, -1.0}) {
    Viewport to = zoomed(v, 400, 300, pixel, factor);
    GroundPoint before = ground_at(v, 400, 300, pixel), after = ground_at(to, 400, 300, pixel);
    CHECK(after.east == Approx(before.east));
    CHECK(after.north == Approx(before.north));
    CHECK(to.metres_per_pixel >= 0.05);
    CHECK(to.metres_per_pixel <= 200);
  }
}

TEST_CASE("a scale bar is 1, 2 or 5 times a power of ten and fits its room") {
  for (auto [mpp, metres] :
       {std::pair{1.0, 100.0}, {4.9, 200.0}, {5.1, 500.0}, {10.0, 1000.0}, {0.05, 5.0}})
    CHECK(scale_bar_metres(mpp, 100) == Approx(metres));
  CHECK(metres_text(500) == "500 m");
  CHECK(metres_text(2000) == "2 km");
  CHECK(metres_text(1500) == "1.5 km");
}

TEST_CASE("ten thousand samples at one place are drawn as few marks and all can be picked from") {
  PlanView view;
  view.places.push_back({"Base", {0, 0}, PlanView::Place::Kind::base, true, false});
  std::mt19937 random(5);
  std::normal_distribution<double> spread(0, 30);
  for (std::size_t i = 0; i < 10000; ++i)
    view.finds.push_back({i % 6, GroundPoint{spread(random), spread(random)}, {}, false});
  auto plan = plan_view(view, 300, 200, {{0, 0}, 10});
  CHECK(plan.chart.items.size() < 2000);
  CHECK(plan.spots.size() == 10001);
}

TEST_CASE("many samples without a place of their own stand as glyph and number at their station") {
  PlanView view;
  view.places.push_back({"Saddle Cut", {0, 0}, PlanView::Place::Kind::visited, true, false});
  for (std::size_t i = 0; i < 40; ++i) view.finds.push_back({i % 2, {}, 0, false});
  auto plan = plan_view(view, 300, 200, fitted(view, 300, 200));
  auto names = labels(plan.chart);
  CHECK(std::count_if(names.begin(), names.end(), [](const Label& l) { return l.text == "20"; }) ==
        2);
}

// Snyder, "Map Projections: A Working Manual" (USGS Professional Paper 1395), table 11, gives
// lengths of degrees for another ellipsoid; the check against the geodesic of WGS-84 stands in
// tests/plates. These are the quadrant's own figures: one degree of longitude on the WGS-84 equator
// is 2πa/360.
TEST_CASE("a degree of longitude at the equator is a 360th of the equator") {
  LocalPlane plane(0, 10);
  CHECK(plane(0, 11).east == Approx(2 * 3.14159265358979 * 6378137.0 / 360).epsilon(1e-9));
  CHECK(plane(0, 11).north == 0);
}

TEST_CASE("ground across the date line is close, not a world away") {
  LocalPlane plane(-17, 179.99);
  CHECK(plane(-17, -179.99).east == Approx(2 * 0.01 * 106500).epsilon(0.01));
}

TEST_CASE("bearings run from north eastward") {
  GroundPoint east = along({0, 0}, 90, 100), south = along({0, 0}, 180, 100);
  CHECK(east.east == Approx(100));
  CHECK(std::abs(east.north) < 1e-9);
  CHECK(south.north == Approx(-100));
}

TEST_CASE("words at a timeline's flags do not cover another flag or each other") {
  Timeline t = specimens::day();
  t.moments.insert(t.moments.begin(), {80, "another flag close by", true, false});
  Chart chart = timeline(t);
  std::vector<Label> words;
  for (const Label& l : labels(chart))
    if (l.at.y > 60) words.push_back(l);
  CHECK(words.size() >= 2);
  CHECK(says(chart, "advised 1:19 (1:16–1:24)"));
  for (std::size_t a = 0; a < words.size(); ++a)
    for (std::size_t b = 0; b < a; ++b)
      CHECK_FALSE(area_of(words[a], estimated_width).touches(area_of(words[b], estimated_width)));
}
