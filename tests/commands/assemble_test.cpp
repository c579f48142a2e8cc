#include "console/commands/assemble.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <sstream>

#include <catch2/catch.hpp>

#include "console/commands/samples_table.hpp"
#include "console/debrief/samples_file.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"
#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

using namespace stonecall;
using commands::AssembleOptions;
using tests::Folder;

namespace {

const std::string first_day =
    "WEBVTT\n\nNOTE start: 2027-05-18T09:00:00+02:00\n\n"
    "00:10:00.000 --> 00:10:04.000\n<v FERN>We have arrived at the Ford.\n\n"
    "00:12:00.000 --> 00:12:04.000\n<v FERN>Sample one, gneiss, bag thirty.\n\n"
    "00:15:00.000 --> 00:15:04.000\n<v FERN>Sample two, marble, bag thirty one.\n\n";
const std::string second_day =
    "1\n00:20:00,000 --> 00:20:03,000\nFERN: Sample three, slate, bag thirty two.\n\n";

struct Assembled {
  int exit_code = 0;
  std::string out, err, bytes;
  protocol::Log log;
  picture::PicturePtr picture;
};

/// The log goes into the folder.
Assembled assemble(const Folder& folder, AssembleOptions options) {
  options.log = (folder / "season.jsonl").string();
  std::ostringstream out, err;
  Assembled made;
  made.exit_code = commands::assemble(options, out, err);
  made.out = out.str();
  made.err = err.str();
  std::ifstream in(options.log, std::ios::binary);
  made.bytes.assign(std::istreambuf_iterator<char>(in), {});
  std::istringstream lines(made.bytes);
  made.log = protocol::read_log(lines);
  made.picture = picture::fold(made.log.events);
  return made;
}

AssembleOptions with(const Folder& folder, const std::string& csv,
                     const std::string& captions = first_day) {
  AssembleOptions options;
  options.captions = {folder.write("day1.vtt", captions)};
  options.plans = {folder.write("plan.json", protocol::to_json(test::small_plan()).dump())};
  if (!csv.empty()) options.samples = folder.write("samples.csv", csv);
  return options;
}

bool says(const Assembled& made, const std::string& words) {
  return made.err.find(words) != std::string::npos;
}

const picture::Sample& only_sample(const Assembled& made, const std::string& number) {
  const auto found = std::ranges::find(made.picture->samples, number, &picture::Sample::number);
  REQUIRE(found != made.picture->samples.end());
  CHECK(std::ranges::count(made.picture->samples, number, &picture::Sample::number) == 1);
  return *found;
}

commands::SamplesTable table(const std::string& csv) {
  auto read = commands::samples_from_csv(csv, {std::chrono::minutes(120), "2027-05-18"});
  CAPTURE(csv);
  REQUIRE(read);
  return *read;
}

}  // namespace

TEST_CASE("transcripts and a catalogue that agree become a log without fault or complaint") {
  const Folder folder;
  const auto made = assemble(folder, with(folder,
                                          "number,bag,rock,description\r\n"
                                          "1,30,gneiss,\"grey, banded\"\r\n2,31,marble,white\r\n"));
  CAPTURE(made.err);
  CHECK(made.exit_code == 0);
  CHECK(made.err.empty());
  CHECK(made.log.faults.empty());
  CHECK(made.picture->flags.empty());
  REQUIRE(made.picture->visits.size() == 1);
  CHECK(made.picture->visits[0].station == "Ford");
  const auto& sample = only_sample(made, "1");
  CHECK(sample.bag == "30");
  CHECK(sample.rock == "gneiss");
  CHECK(sample.station == "Ford");
  CHECK(sample.description == "grey, banded");
  CHECK(sample.first == test::clock(12).instant);
  CHECK(made.picture->samples.size() == 2);
}

TEST_CASE("what was read from a note is marked as accepted by itself, and the words are there") {
  const Folder folder;
  const auto made = assemble(folder, with(folder, ""));
  std::size_t readings = 0, notes = 0;
  for (const auto& event : made.log.events) {
    notes += std::holds_alternative<protocol::VoiceNote>(event->body);
    const auto* reading = std::get_if<protocol::Reading>(&event->body);
    if (!reading) continue;
    ++readings;
    CHECK(reading->by_itself == true);
    CHECK(reading->words.has_value());
  }
  CHECK(notes == 3);
  CHECK(readings == 3);
}

TEST_CASE("an arrival that nobody called follows from the catalogue, and the report says so") {
  const Folder folder;
  const std::string walked =
      first_day +
      "00:40:00.000 --> 00:40:04.000\n<v FERN>Heading for the Terrace.\n\n"
      "00:52:00.000 --> 00:52:04.000\n<v FERN>Of ten, six slate, four gneiss.\n\n"
      "00:55:00.000 --> 00:55:04.000\n<v FERN>Sample three, slate, bag thirty two.\n\n";
  const auto made = assemble(
      folder,
      with(folder, "number,bag,rock,station\n1,30,gneiss,Ford\n2,31,marble,\n3,32,slate,terrace\n",
           walked));
  CAPTURE(made.err, made.out);
  CHECK(made.exit_code == 0);
  REQUIRE(made.picture->visits.size() == 2);
  CHECK(made.picture->visits[0].left == test::clock(40).instant);
  CHECK(made.picture->visits[1].station == "Terrace");
  CHECK(made.picture->visits[1].arrived == test::clock(52).instant);
  CHECK(only_sample(made, "3").station == "Terrace");
  REQUIRE(made.picture->looks.size() == 1);
  CHECK(made.picture->looks[0].station == "Terrace");
  CHECK(made.picture->flags.empty());
  CHECK(says(made, "nobody called the arrival at Terrace; put at 2027-05-18T09:52:00.000+02:00: "));
  CHECK(says(made, "line 4: sample 3 (bag 32) was picked there"));
  CHECK(made.out.find("1 arrival inferred") != std::string::npos);
  // In the log it is marked as well.
  REQUIRE(made.picture->remarks.size() == 1);
  CHECK(made.picture->remarks[0].remark.text.starts_with("inferred: "));
}

TEST_CASE("where nothing says which station it was, what was told stands at none and is named") {
  const Folder folder;
  const auto made = assemble(
      folder,
      with(folder, "",
           first_day +
               "00:40:00.000 --> 00:40:04.000\n<v FERN>Heading for the Terrace.\n\n"
               "00:55:00.000 --> 00:55:04.000\n<v FERN>Sample three, slate, bag thirty two.\n\n"));
  CHECK(made.exit_code == 1);
  CHECK(made.picture->visits.size() == 1);
  CHECK(says(made,
             "1 fact from 2027-05-18T09:55:00.000+02:00 to 2027-05-18T09:55:00.000+02:00 "
             "stand at no station: the party was heading for Terrace"));
}

TEST_CASE("still at a station is at it, called or not") {
  const Folder folder;
  const auto made = assemble(
      folder, with(folder, "",
                   "WEBVTT\n\nNOTE start: 2027-05-18T09:00:00+02:00\n\n"
                   "00:10:00.000 --> 00:10:04.000\n<v FERN>Still at the Ford, two more minutes.\n\n"
                   "00:12:00.000 --> 00:12:04.000\n<v FERN>Sample one, gneiss, bag thirty.\n\n"));
  CAPTURE(made.err);
  REQUIRE(made.picture->visits.size() == 1);
  CHECK(made.picture->visits[0].station == "Ford");
  CHECK(only_sample(made, "1").station == "Ford");
  CHECK(made.exit_code == 0);
}

TEST_CASE("nothing is read from notes where no sureness is enough") {
  const Folder folder;
  auto options = with(folder, "");
  options.sure = 1.01;
  CHECK(assemble(folder, options).picture->samples.empty());
}

TEST_CASE("the same files give the same log, byte by byte") {
  const Folder folder;
  const auto options = with(folder, "bag,number,rock\n30,1,gneiss\n99,9,slate\n");
  const auto once = assemble(folder, options);
  const auto again = assemble(folder, options);
  CHECK_FALSE(once.bytes.empty());
  CHECK(once.bytes == again.bytes);
}

TEST_CASE("recordings of several days, some started by option, stand in order of time") {
  const Folder folder;
  auto options = with(folder, "");
  options.captions.insert(options.captions.begin(), folder.write("day2.srt", second_day));
  options.starts["day2.srt"] = "2027-05-19T08:00:00+02:00";
  options.offsets["day2.srt"] = -60;
  const auto made = assemble(folder, options);
  CAPTURE(made.err);
  CHECK(made.exit_code == 0);
  CHECK(std::ranges::is_sorted(made.log.events, {},
                               [](const auto& event) { return event->at.instant; }));
  CHECK(only_sample(made, "3").first ==
        protocol::parse_timestamp("2027-05-19T08:19:00+02:00")->instant);
}

TEST_CASE("two recordings of one name keep each their notes") {
  const Folder folder;
  const Folder other;
  auto options = with(folder, "");
  const std::string text = "WEBVTT\n\n00:01.000 --> 00:02.000\n<v FERN>Radio check.\n";
  options.captions = {folder.write("loop.vtt", "WEBVTT start: 2027-05-18T09:00:00+02:00\n" +
                                                   text.substr(text.find('\n') + 1)),
                      other.write("loop.vtt", "WEBVTT start: 2027-05-19T09:00:00+02:00\n" +
                                                  text.substr(text.find('\n') + 1))};
  const auto made = assemble(folder, options);
  CHECK(std::ranges::count_if(made.log.events, [](const auto& event) {
          return std::holds_alternative<protocol::VoiceNote>(event->body);
        }) == 2);
}

TEST_CASE("a recording that nobody says the start of is named, and nothing is written") {
  const Folder folder;
  auto options = with(folder, "");
  options.captions.push_back(folder.write("day2.srt", second_day));
  const auto made = assemble(folder, options);
  CHECK(made.exit_code == 2);
  CHECK(says(made, "day2.srt: nobody says when it started; give --start day2.srt="));
  CHECK(made.bytes.empty());
}

TEST_CASE("a recording whose header goes on without end is named, and nothing is written") {
  const Folder folder;
  auto options = with(folder, "");
  options.captions = {
      folder.write("loop.vtt", "WEBVTT start: " + std::string(100'000, 'x') +
                                   "\n\n00:01.000 --> 00:02.000\n<v FERN>Radio check.\n")};
  const auto made = assemble(folder, options);
  CHECK(made.exit_code == 2);
  CHECK(says(made, "give --start loop.vtt="));
  CHECK(made.bytes.empty());
}

TEST_CASE("a recording says its start in any case, with a colon or an equals sign") {
  const auto [header, when] = GENERATE(table<std::string, std::string>(
      {{"WEBVTT Started = 2027-05-18T09:00:00+02:00", "2027-05-18T09:00:01+02:00"},
       {"WEBVTT restart: 2027-05-17T09:00:00Z START:\t2027-05-18T09:00:00+02:00 (by hand)",
        "2027-05-18T09:00:01+02:00"}}));
  const Folder folder;
  auto options = with(folder, "");
  options.captions = {
      folder.write("loop.vtt", header + "\n\n00:01.000 --> 00:02.000\n<v FERN>Radio check.\n")};
  const auto made = assemble(folder, options);
  CAPTURE(made.err);
  REQUIRE_FALSE(made.log.events.empty());
  CHECK(std::ranges::any_of(made.log.events, [&](const auto& event) {
    return std::holds_alternative<protocol::VoiceNote>(event->body) &&
           event->at.instant == protocol::parse_timestamp(when)->instant;
  }));
}

TEST_CASE("a catalogued sample that was never heard stands at its own time") {
  const Folder folder;
  const auto made =
      assemble(folder, with(folder, "number,rock,time\n9,slate,2027-05-18T09:40:00+02:00\n"));
  CHECK(made.exit_code == 1);
  CHECK(says(made, "samples.csv: line 2: sample 9 was never heard\n"));
  CHECK(only_sample(made, "9").first == test::clock(40).instant);
}

TEST_CASE("one without a time of its own is put at the end and said to be") {
  const Folder folder;
  const auto made = assemble(folder, with(folder, "number,rock\n9,slate\n"));
  CHECK(says(made, "sample 9 was never heard, and has no time: put at the end"));
  CHECK(only_sample(made, "9").first == test::clock(15).instant);
  CHECK(std::holds_alternative<protocol::SampleTaken>(made.log.events.back()->body));
}

TEST_CASE("a sample that was heard and is not catalogued is named with its time") {
  const Folder folder;
  const auto made = assemble(folder, with(folder, "number,bag\n1,30\n"));
  CHECK(made.exit_code == 1);
  CHECK(says(made, "sample 2 (bag 31) was heard at 2027-05-18T09:15:00.000+02:00 and is not in "));
  CHECK_FALSE(says(made, "sample 1"));
}

TEST_CASE("where speech and catalogue disagree both are told, and it stays one sample") {
  const Folder folder;
  const std::string both = "\n2,31,marble\n";
  SECTION("the bag") {
    const auto made = assemble(folder, with(folder, "number,bag,rock\n1,33,gneiss" + both));
    CHECK(says(made, "line 2: sample 1 (bag 33): bag 33, but heard as 30"));
    CHECK(only_sample(made, "1").contradictions.size() == 1);
  }
  SECTION("the rock") {
    const auto made = assemble(folder, with(folder, "number,bag,rock\n1,30,slate" + both));
    CHECK(says(made, "line 2: sample 1 (bag 30): rock slate, but heard as gneiss"));
    CHECK(only_sample(made, "1").rock == "slate");
  }
  SECTION("the number") {
    const auto made = assemble(folder, with(folder, "number,bag,rock\n7,30,gneiss" + both));
    CHECK(says(made, "line 2: sample 7 (bag 30): number 7, but heard as 1"));
    CHECK(made.picture->samples.size() == 2);
  }
}

TEST_CASE("names of the catalogue in other letters or as spoken are those of the plan") {
  const Folder folder;
  auto plan = test::small_plan();
  plan.vocabulary[0].spoken = {"grey stripes"};
  auto options = with(folder, "number,bag,rock,station\n01,030,Grey Stripes,FORD\n2,31,Marble,\n");
  options.plans = {folder.write("plan.json", protocol::to_json(plan).dump())};
  const auto made = assemble(folder, options);
  CAPTURE(made.err);
  CHECK(made.exit_code == 0);
  CHECK(made.picture->flags.empty());
  CHECK(only_sample(made, "1").rock == "gneiss");
}

TEST_CASE("broken cues and rows are named by line and cost themselves alone") {
  const Folder folder;
  const auto made = assemble(
      folder, with(folder, "number,bag,size_mm\n1,30,80\n5,40\n6,41,big\n\"7,42,90\n2,31,70\n",
                   first_day + "00:30:00.000 -> 00:30:01.000\nlost\n\n"
                               "00:31:00.000 --> 00:31:01.000\n<v FERN>Radio check.\n"));
  CHECK(made.exit_code == 1);
  CHECK(says(made, "day1.vtt: line 14: "));
  CHECK(says(made, "samples.csv: line 3: 2 fields where the heading has 3, row not read"));
  CHECK(says(made, "samples.csv: line 4: \"size_mm\": \"big\" is not a number, row not read"));
  CHECK(says(made, "samples.csv: line 5: a quotation mark "));
  CHECK(only_sample(made, "2").size_mm == 70);
  CHECK(made.picture->samples.size() == 2);
}

TEST_CASE("the report goes to a file where one is named") {
  const Folder folder;
  auto options = with(folder, "number,rock\n9,slate\n");
  options.unmatched = (folder / "unmatched.txt").string();
  const auto made = assemble(folder, options);
  CHECK(made.err.empty());
  std::ifstream in(options.unmatched);
  const std::string report{std::istreambuf_iterator<char>(in), {}};
  CHECK(report.find("sample 9 was never heard") != std::string::npos);
  CHECK(made.out.find(options.unmatched) != std::string::npos);
}

TEST_CASE("notes and a catalogue make a log without a plan too") {
  const Folder folder;
  auto options = with(folder, "number,bag\n1,30\n2,31\n");
  options.plans.clear();
  const auto made = assemble(folder, options);
  CAPTURE(made.err);
  CHECK(made.log.faults.empty());
  CHECK(only_sample(made, "1").rock == "gneiss");
}

// RFC 4180, section 2, rules 1 to 7.
TEST_CASE("fields in quotes hold separators, line breaks and quotation marks") {
  const auto read = table("number,description,bag\r\n1,\"a, \"\"b\"\"\r\nc\",30\r\n2,d,31");
  CHECK(read.faults.empty());
  REQUIRE(read.rows.size() == 2);
  CHECK(read.rows[0].sample.description == "a, \"b\"\r\nc");
  CHECK(read.rows[1].line == 4);
  CHECK(read.rows[1].sample.bag == "31");
}

TEST_CASE("columns go by their heading, in any order, case and wording; others are named") {
  const auto read = table("Weight,Lon,LAT,Kind,Sample Number\n4,43.98,41.47,slate,8\n");
  CHECK(read.passed_over == std::vector<std::string>{"Weight"});
  REQUIRE(read.rows.size() == 1);
  CHECK(read.rows[0].sample.number == "8");
  CHECK(read.rows[0].sample.rock == "slate");
  CHECK(read.rows[0].sample.place == protocol::Position{41.47, 43.98, std::nullopt});
}

TEST_CASE("semicolons or tabs may separate, and then a comma is a decimal point") {
  const std::string separator = GENERATE(";", "\t");
  const auto read = table("number" + separator + "size_mm\n1" + separator + "8,5\n");
  REQUIRE(read.rows.size() == 1);
  CHECK(read.rows[0].sample.size_mm == 8.5);
}

TEST_CASE("times are whole, local, or of the day that all recordings are of") {
  const std::string time =
      GENERATE("2027-05-18T09:12:00+02:00", "2027-05-18 09:12", "2027-05-18T09:12:00", "09:12",
               "9:12:00", "2027-05-18T07:12:00Z");
  CAPTURE(time);
  const auto read = table("number,time\n1," + time + "\n");
  REQUIRE(read.rows.size() == 1);
  CHECK(read.rows[0].at->instant == test::clock(12).instant);
}

TEST_CASE("a time of day is refused where the day is not known") {
  const auto read = commands::samples_from_csv("number,time\n1,09:12\n2,\n", {});
  REQUIRE(read);
  CHECK(read->rows.size() == 1);
  REQUIRE(read->faults.size() == 1);
  CHECK(read->faults[0].line == 2);
}

TEST_CASE("a row past the limits of an event, or not UTF-8, is refused by its line") {
  const std::string too_long(81, 'x');
  const std::string row =
      GENERATE(as<std::string>{}, "LONG,1,1", "1,91,0", "1,,5", "\xFF,1,1", ",1,1", "1,\"2\"3,4");
  CAPTURE(row);
  const auto read =
      table("number,latitude,longitude\n" + (row[0] == 'L' ? too_long + row : row) + "\n2,46,8\n");
  CHECK(read.rows.size() == 1);
  REQUIRE(read.faults.size() == 1);
  CHECK(read.faults[0].line == 2);
}

TEST_CASE("rows that a spreadsheet emptied are no rows, and a byte-order mark is no heading") {
  const auto read = table("\xEF\xBB\xBFnumber,bag\r\n,\r\n\r\n1,30\r\n");
  CHECK(read.faults.empty());
  CHECK(read.rows.size() == 1);
}

TEST_CASE("a table that can name no sample is refused as a whole") {
  const std::string csv =
      GENERATE("", "rock,station\nslate,Ford\n", "number,Number\n1,1\n", "number,\"bag\n1,2\n");
  CAPTURE(csv);
  CHECK_FALSE(commands::samples_from_csv(csv, {}).has_value());
}

TEST_CASE("what the debrief writes as CSV can be assembled again and written the same") {
  const auto recorded = protocol::read_log_file(REPLAY_LOGS "/varrow_rim.jsonl");
  REQUIRE(recorded);
  const std::string csv = debrief::samples_csv(*picture::fold(recorded->events));
  const Folder folder;
  AssembleOptions options;
  options.plans = {REPLAY_LOGS "/varrow_rim.plan.json"};
  options.samples = folder.write("samples.csv", csv);
  const auto made = assemble(folder, options);
  REQUIRE(made.log.faults.empty());
  const commands::LocalTime local{std::chrono::minutes(240), {}};
  const auto before = commands::samples_from_csv(csv, local);
  const auto after = commands::samples_from_csv(debrief::samples_csv(*made.picture), local);
  REQUIRE(before);
  REQUIRE(after);
  CHECK(before->faults.empty());
  REQUIRE(before->rows.size() == after->rows.size());
  CHECK(before->rows.size() > 30);
  for (std::size_t i = 0; i < before->rows.size(); ++i) {
    CHECK(before->rows[i].sample == after->rows[i].sample);
    CHECK(before->rows[i].at == after->rows[i].at);
  }
}
