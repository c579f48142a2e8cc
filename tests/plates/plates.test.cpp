#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "console/charts/svg.hpp"
#include "console/estimate/geodesy.hpp"
#include "console/plates/advice_plate.hpp"
#include "console/plates/ground_plate.hpp"
#include "console/plates/kinds_plate.hpp"
#include "console/plates/sample_text.hpp"

using namespace stonecall;
using advise::Figure;
using advise::Ground;
using advise::KindRow;
using std::chrono::minutes;

namespace {

/// Base on the made-up Korrin Flats and two stations north-east of it.
protocol::Plan korrin() {
  protocol::Plan plan;
  plan.name = "Korrin Flats";
  plan.start = protocol::parse_timestamp("2026-06-20T08:30:00.000+02:00").value();
  plan.base = {"Base", {46.8, 9.8, {}}, {}};
  protocol::PlannedStation apron, saddle;
  apron.station = "North Apron";
  apron.position = {46.806, 9.806, {}};
  saddle.station = "Saddle Cut";
  saddle.position = {46.804, 9.815, {}};
  saddle.way = {{46.807, 9.811, {}}};
  plan.stations = {apron, saddle};
  plan.vocabulary = {{"vesicular basalt", {}}, {"scoria", {}}};
  return plan;
}

picture::Picture walked() {
  picture::Picture p;
  p.plan = korrin();
  p.kinds = {"vesicular basalt", "scoria"};
  auto start = p.plan->start.instant;
  p.visits = {{"North Apron", start + minutes(20), start + minutes(40)},
              {"Saddle Cut", start + minutes(50), {}}};
  return p;
}

picture::Sample sample(std::string number, std::string rock, std::string station) {
  picture::Sample s;
  s.number = std::move(number);
  s.rock = std::move(rock);
  s.station = std::move(station);
  s.taken = true;
  s.first = walked().plan->start.instant + minutes(55);
  return s;
}

protocol::Instant at(int minute) {
  return walked().plan->start.instant + minutes(minute);
}

KindRow row(std::string rock, std::optional<Figure> share, bool met) {
  KindRow r;
  r.rock = std::move(rock);
  r.share = share;
  if (met) r.first_seen = at(20);
  return r;
}

}  // namespace

TEST_CASE("a share is written with its interval, finer where it is small") {
  CHECK(plates::share_text({0.66, 0.57, 0.744}) == "66 % (57–74)");
  CHECK(plates::share_text({0.004, 0, 0.021}) == "0.4 % (0–2)");
}

TEST_CASE("what an estimate rests on is said in full, and chosen samples are named as not used") {
  advise::Basis basis;
  basis.chosen_not_used = 2;
  CHECK(plates::basis_text(basis) ==
        "No basis: nothing counted, no share spoken; 2 chosen samples not used.");
  basis.spoken_shares = 1;
  basis.chosen_not_used = 1;
  CHECK(plates::basis_text(basis) == "Rests on 1 spoken share; 1 chosen sample not used.");
  basis.counted = 34;
  basis.looks = 4;
  basis.spoken_shares = 3;
  basis.chosen_not_used = 11;
  CHECK(plates::basis_text(basis) ==
        "Rests on 34 counted in 4 looks and 3 spoken shares; 11 chosen samples not used.");
  basis = {};
  basis.counted = 10;
  basis.looks = 1;
  CHECK(plates::basis_text(basis) == "Rests on 10 counted in 1 look.");
  basis.unselective = 2;
  CHECK(plates::basis_text(basis) == "Rests on 10 counted in 1 look and 2 unselective samples.");
  basis = {};
  basis.counted = 40;
  basis.looks = 4;
  basis.design_effect = 2.5;
  CHECK(plates::basis_text(basis) ==
        "Rests on 40 counted in 4 looks. Patchy ground: they tell as much as 16 rocks picked "
        "singly.");
  basis.design_effect = 30;
  CHECK(plates::basis_text(basis).ends_with("they tell as much as 1 rock picked singly."));
}

TEST_CASE("a kind without a share is drawn without a dot and says why") {
  Ground ground;
  ground.kinds = {row("vesicular basalt", Figure{0.6, 0.5, 0.7}, true), row("scoria", {}, true),
                  row("obsidian", {}, false)};
  ground.kinds.push_back(row("pumice", {}, false));
  ground.kinds.back().said_absent = true;
  auto plate = plates::share_plate(ground, {0, 1, 2, 3});
  CHECK(plate.rows[0].value);
  CHECK_FALSE(plate.rows[1].value);
  CHECK(plate.rows[1].words == "no basis");
  CHECK(plate.rows[2].words == "not met");
  CHECK(plate.rows[3].words == "named absent");
}

TEST_CASE("a kind keeps its glyph whichever rows are shown") {
  Ground ground;
  ground.kinds = {row("vesicular basalt", {}, false), row("scoria", {}, true)};
  CHECK(plates::share_plate(ground, {1}).rows[0].series == 1);
}

TEST_CASE("a row of the vocabulary with nothing known, bagged or wanted says nothing") {
  CHECK_FALSE(plates::says_something(row("slate", Figure{0.02, 0, 0.1}, false)));
  KindRow wanted = row("slate", {}, false);
  wanted.wanted = 1;
  CHECK(plates::says_something(wanted));
  KindRow absent = row("slate", {}, false);
  absent.said_absent = true;
  CHECK(plates::says_something(absent));
}

TEST_CASE(
    "advice without a curve has no picture, advice with one marks the departure and its range") {
  advise::Advice advice;
  CHECK_FALSE(plates::advice_plate(advice, minutes(72)));
  for (int m = 70; m <= 90; ++m)
    advice.curve.push_back({static_cast<double>(m), {0.3 - 0.01 * (m - 70), 0.1, 0.4}, 0.2});
  advice.depart = minutes(79);
  advice.depart_earliest = minutes(76);
  advice.depart_latest = minutes(84);
  advice.best_elsewhere = "Rim Walk";
  advice.sentence = "Move on at 1:19.";
  auto plate = plates::advice_plate(advice, minutes(72));
  REQUIRE(plate);
  CHECK(plate->now == 72);
  CHECK(plate->mark == 79);
  CHECK(plate->span->low == 76);
  CHECK(plate->span->high == 84);
  CHECK(plate->other_name == "best elsewhere: Rim Walk");
  CHECK(plate->description == "Move on at 1:19. Departure is best at 1:19 (1:16 to 1:24).");
}

TEST_CASE("without a plan no place is known and nothing is drawn") {
  auto plate = plates::ground_plate({}, nullptr, {});
  CHECK(plate.view.places.empty());
  CHECK(plate.view.description == "No plan: no place is known.");
}

// Distances against the geodesic on WGS-84 by Boost.Geometry's Karney formulas (tests/estimate
// checks those against published values).
TEST_CASE("distances on the plan view are those of the ground within 0.3 % up to five kilometres") {
  for (double latitude : {-70.0, -46.8, 0.0, 12.0, 46.8, 69.9})
    for (double bearing : {0.0, 37.0, 90.0, 200.0, 315.0})
      for (double metres : {50.0, 1000.0, 5000.0}) {
        auto end = estimate::walk({latitude, 9.8}, bearing, metres).place;
        auto g = charts::LocalPlane(latitude, 9.8)(end.latitude, end.longitude);
        INFO("latitude " << latitude << ", bearing " << bearing << ", " << metres << " m");
        CHECK(std::hypot(g.east, g.north) == Approx(metres).epsilon(0.003));
      }
}

TEST_CASE("the walked way follows the stays in order, through the points of the plan's way") {
  auto p = walked();
  auto plate = plates::ground_plate(p, nullptr, at(60));
  std::vector<std::size_t> points;
  for (const auto& way : plate.view.ways)
    if (way.kind == charts::PlanView::Way::Kind::walked) points.push_back(way.points.size());
  CHECK(points == std::vector<std::size_t>{2, 3});
  CHECK(plate.view.places[2].here);
  CHECK(plate.view.places[1].kind == charts::PlanView::Place::Kind::visited);
}

TEST_CASE("what happens after the moment shown is not drawn") {
  auto p = walked();
  p.samples = {sample("1", "scoria", "Saddle Cut")};
  auto plate = plates::ground_plate(p, nullptr, at(30));
  CHECK(plate.view.finds.empty());
  CHECK(plate.view.places[1].here);
  CHECK(plate.view.places[2].kind == charts::PlanView::Place::Kind::ahead);
}

TEST_CASE("a sample lies where it was said: by coordinates, by its tie, else only at its station") {
  auto p = walked();
  auto with_place = sample("1", "scoria", "Saddle Cut");
  with_place.place = protocol::Position{46.8, 9.8, {}};
  auto tied = sample("2", "vesicular basalt", "Saddle Cut");
  tied.tie = protocol::Tie{{}, 90, 250};
  auto bare = sample("3", "pumice", "Saddle Cut");
  auto lost = sample("4", "scoria", "Nowhere Planned");
  auto pictures = sample("5", "scoria", "Saddle Cut");
  pictures.taken = false;
  p.samples = {with_place, tied, bare, lost, pictures};
  auto plate = plates::ground_plate(p, nullptr, at(60));
  REQUIRE(plate.view.finds.size() == 3);
  CHECK(std::hypot(plate.view.finds[0].at->east, plate.view.finds[0].at->north) < 1e-6);
  CHECK(plate.view.finds[1].at->east == Approx(250));
  CHECK_FALSE(plate.view.finds[2].at);
  CHECK(plate.view.finds[2].place == 2);
  CHECK(plate.view.finds[0].series == 1);
  CHECK_FALSE(plate.view.finds[2].series);
  CHECK(plate.without_place == 1);
}

TEST_CASE("the way back is drawn with its length, minutes and margin") {
  advise::Assessment a;
  advise::TurnBack back;
  back.from = "Saddle Cut";
  back.distance_metres = 1240;
  back.walk_minutes = 24.4;
  back.margin_percent = 20;
  a.turn_back = back;
  auto plate = plates::ground_plate(walked(), &a, at(60));
  CHECK(plate.view.ways.back().words == "return 1.2 km, 25 min + 20 %");
  back.distance_metres = 640;
  CHECK(plates::way_back_text(back) == "640 m, 25 min + 20 %");
}

// Rule of the trade: at mid-northern latitudes the sun of a morning stands in the east (common
// knowledge; the position itself is checked against Reda & Andreas in tests/estimate).
TEST_CASE("the sun of a summer morning stands in the east, and after dark none is drawn") {
  auto p = walked();
  auto morning = plates::ground_plate(p, nullptr, at(0));
  REQUIRE(morning.view.sun_azimuth);
  CHECK(*morning.view.sun_azimuth > 60);
  CHECK(*morning.view.sun_azimuth < 120);
  CHECK_FALSE(plates::ground_plate(p, nullptr, at(15 * 60)).view.sun_azimuth);
}

TEST_CASE(
    "a down-sun picture taken with the camera towards the sun is doubted, one away from it is "
    "not") {
  auto p = walked();
  double sun = *plates::ground_plate(p, nullptr, at(55)).view.sun_azimuth;
  auto s = sample("1", "scoria", "Saddle Cut");
  picture::PhotoTaken photo;
  photo.origin.at = at(55);
  photo.view = protocol::View::down_sun;
  photo.direction_degrees = std::fmod(sun + 180, 360);
  s.photos = {photo};
  CHECK(plates::photo_doubts(s, *p.plan).empty());
  s.photos.change(0).direction_degrees = sun;
  REQUIRE(plates::photo_doubts(s, *p.plan).size() == 1);
  CHECK(plates::photo_doubts(s, *p.plan)[0].find("down-sun picture was taken up-sun") == 0);
  s.photos.change(0).direction_degrees.reset();
  CHECK(plates::photo_doubts(s, *p.plan).empty());
}

TEST_CASE(
    "the checklist of a sample names all that is asked, how its pictures were lit and what lacks") {
  auto p = walked();
  double sun = *plates::ground_plate(p, nullptr, at(55)).view.sun_azimuth;
  auto s = sample("1", "scoria", "Saddle Cut");
  s.bag = "31";
  s.tie = protocol::Tie{{}, 120, 40};
  s.picked = "the only red one";
  s.buried.reset();
  picture::PhotoTaken across, away;
  across.origin.at = away.origin.at = at(55);
  across.view = protocol::View::stereo_pair;
  across.direction_degrees = std::fmod(sun + 90, 360);
  away.view = protocol::View::down_sun;
  away.direction_degrees = std::fmod(sun + 180, 360);
  s.photos = {across, away};
  auto item = [&](std::string_view what) {
    for (const auto& each : plates::checklist(s, &*p.plan))
      if (each.what == what) return each;
    FAIL("not asked: " << what);
    return plates::ChecklistItem{};
  };
  CHECK(item("stereo pair").stands.find("taken cross-sun (sun ") == 0);
  CHECK(item("down-sun picture").stands.find("taken down-sun (sun ") == 0);
  CHECK(item("picture of the place after").missing);
  CHECK(item("picture of the place after").stands == "–");
  CHECK(item("how deep it sat").missing);
  CHECK(item("where it lay").stands == "40 m at 120° from base");
  CHECK(item("bag number").stands == "31");
  CHECK(item("why it was picked").stands == "the only red one");
  s.photos.change(1).direction_degrees.reset();
  CHECK(item("down-sun picture").stands == "taken, direction not told");
  s.photos.change(0).view = protocol::View::stereo_left;  // half a pair is no pair
  CHECK(item("stereo pair").missing);
  CHECK(item("stereo pair").stands.find("left half") == 0);
}

TEST_CASE("a sample is named by its number, else by its bag") {
  picture::Sample s;
  CHECK(plates::sample_name(s) == "unnumbered");
  s.bag = "31";
  CHECK(plates::sample_name(s) == "bag 31");
  s.number = "14";
  CHECK(plates::sample_name(s) == "14");
}

TEST_CASE("what a sample lacks is one phrase") {
  CHECK(plates::gaps_text({}).empty());
  auto text = plates::gaps_text({picture::Gap::after, picture::Gap::buried});
  CHECK(text.rfind("lacks ", 0) == 0);
  CHECK(std::count(text.begin(), text.end(), ',') == 1);
}

TEST_CASE("hostile names of places and rocks stay text in the printed plate") {
  auto p = walked();
  p.plan.change().stations[0].station = "<script>alert(1)</script>";
  auto plate = plates::ground_plate(p, nullptr, at(60));
  auto chart = charts::plan_view(plate.view, 500, 300, charts::fitted(plate.view, 500, 300)).chart;
  CHECK(charts::svg(chart).find("<script>") == std::string::npos);
}
