#include "protocol/captions.hpp"

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

using namespace stonecall::protocol;
using namespace std::chrono_literals;

namespace {

struct ReadAll {
  std::vector<Cue> cues;
  std::vector<Fault> faults;
};

ReadAll read(CaptionFormat format, std::string_view bytes,
             std::size_t step = std::string_view::npos) {
  CaptionReader reader(format);
  for (std::size_t at = 0; at < bytes.size(); at += std::min(step, bytes.size() - at))
    reader.feed(bytes.substr(at, step));
  reader.finish();
  return {reader.take_cues(), reader.take_faults()};
}

ReadAll vtt(std::string_view body) {
  return read(CaptionFormat::web_vtt, "WEBVTT\n\n" + std::string(body));
}
ReadAll srt(std::string_view body) {
  return read(CaptionFormat::sub_rip, body);
}

std::string file(const std::string& name) {
  std::ifstream in(std::string(CAPTIONS_DIR) + "/" + name, std::ios::binary);
  REQUIRE(in);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::size_t> lines_of(const std::vector<Fault>& faults) {
  std::vector<std::size_t> lines;
  for (const Fault& fault : faults) lines.push_back(fault.line.value());
  return lines;
}

std::vector<std::string> texts_of(const std::vector<Cue>& cues) {
  std::vector<std::string> texts;
  for (const Cue& cue : cues) texts.push_back(cue.text);
  return texts;
}

}  // namespace

TEST_CASE("a WebVTT cue gives its times, speaker and words") {
  const auto all =
      vtt("c1\n01:02:03.004 --> 01:02:05.000 align:start line:0\n<v FIELD-1>Sample "
          "one,\nbasalt.</v>\n");
  REQUIRE(all.faults.empty());
  REQUIRE(all.cues == std::vector<Cue>{{4, "c1", 1h + 2min + 3s + 4ms, 1h + 2min + 5s, "FIELD-1",
                                        "Sample one, basalt."}});
}

TEST_CASE("hours may be left out of WebVTT times") {
  REQUIRE(vtt("02:03.500 --> 02:04.000\nhello\n").cues.at(0).begin == 2min + 3s + 500ms);
}

TEST_CASE("comments, style sheets and regions are no cues and no faults") {
  const auto all =
      vtt("NOTE\nClock zero is nine\n\nSTYLE\n::cue { color: grey }\n\nREGION\nid:a\n\n00:01.000 "
          "--> 00:02.000\nhello\n");
  REQUIRE(texts_of(all.cues) == std::vector<std::string>{"hello"});
  REQUIRE(all.faults.empty());
}

// WebVTT 6.4, cue text tokenizer: the character references it names, and classes on tags.
TEST_CASE("entities are resolved and tags other than voices dropped") {
  const auto all =
      vtt("00:01.000 --> 00:02.000\n<v.loud.first FIELD&amp;1>a <b>b</b> &lt;c&gt; <00:01.500>d "
          "&amp; e &#xE9; &unknown; 3 < 4</v>\n");
  REQUIRE(all.cues.at(0).speaker == "FIELD&1");
  REQUIRE(all.cues.at(0).text == "a b <c> d & e \xC3\xA9 &unknown; 3 < 4");
}

TEST_CASE("two voices in one cue give two notes at the same time") {
  const auto all = vtt("00:01.000 --> 00:02.000\n<v FIELD-1>Copy?</v> <v FIELD-2>Copy.</v>\n");
  REQUIRE(all.cues.size() == 2);
  REQUIRE(all.cues[0].speaker == "FIELD-1");
  REQUIRE(all.cues[1].speaker == "FIELD-2");
  REQUIRE(all.cues[0].begin == all.cues[1].begin);
}

TEST_CASE("WebVTT times are strict, so that a slip is named and not guessed at") {
  const auto times =
      GENERATE("0:01.000 --> 00:02.000", "00:01,000 --> 00:02.000", "00:61.000 --> 01:02.000",
               "00:1x.000 --> 00:19.000", "00:01.00 --> 00:02.000", "00:01.000 -> 00:02.000 -->",
               "00:35.000 -->", "--> 00:01.000", "00:01.000 --> 00:02.000x");
  CAPTURE(times);
  const auto all = vtt(std::string(times) + "\nwords\n\n00:03.000 --> 00:04.000\nkept\n");
  REQUIRE(texts_of(all.cues) == std::vector<std::string>{"kept"});
  REQUIRE(lines_of(all.faults) == std::vector<std::size_t>{3});
}

TEST_CASE("each broken cue of a WebVTT file is named by line and the valid ones stand") {
  const auto all = read(CaptionFormat::web_vtt, file("broken.vtt"));
  REQUIRE(texts_of(all.cues) == std::vector<std::string>{"Sample one, basalt, bag thirty.",
                                                         "No granite so far.",
                                                         "Bag thirty one is scoria & ash."});
  REQUIRE(all.cues.back().speaker == "FIELD-3");
  REQUIRE(lines_of(all.faults) == std::vector<std::size_t>{7, 10, 13, 19, 24});
  REQUIRE(all.faults[3].what.find("UTF-8") != std::string::npos);
}

TEST_CASE("SubRip files are read as people write them") {
  const auto all = read(CaptionFormat::sub_rip, file("broken.srt"));
  REQUIRE(texts_of(all.cues) ==
          std::vector<std::string>{"Sample one, basalt, bag thirty.",
                                   "This number was used before.", "This one has no number.",
                                   "Full stops for commas.", "Windows line endings here.",
                                   "No blank line follows.", "So this one starts at once."});
  REQUIRE(all.cues[3].begin == 15s);
  REQUIRE(all.cues[4].speaker == "FIELD-3");
  REQUIRE(all.cues[6].id == "7");
  REQUIRE(lines_of(all.faults) == std::vector<std::size_t>{5, 9});
  for (const Fault& fault : all.faults) REQUIRE(fault.what.ends_with("kept"));
}

TEST_CASE("SubRip placing marks and tags are dropped") {
  REQUIRE(srt("1\n00:00:01,000 --> 00:00:02,000 X1:10 X2:20\n{\\an8}<i>FIELD-2: No granite</i>\n")
              .cues.at(0)
              .text == "No granite");
}

TEST_CASE("words before a colon are a speaker only in capitals") {
  REQUIRE(srt("1\n00:00:01,000 --> 00:00:02,000\nTen pebbles: four quartzite\n")
              .cues.at(0)
              .speaker.empty());
}

TEST_CASE("both formats of the same notes give the same cues") {
  auto a = read(CaptionFormat::web_vtt, file("notes.vtt"));
  auto b = read(CaptionFormat::sub_rip, file("notes.srt"));
  REQUIRE(a.faults.empty());
  REQUIRE(b.faults.empty());
  REQUIRE(a.cues.size() == 20);
  REQUIRE(b.cues.size() == 20);
  for (std::size_t i = 0; i < 20; ++i) {
    REQUIRE(a.cues[i].text == b.cues[i].text);
    REQUIRE(a.cues[i].speaker == b.cues[i].speaker);
    REQUIRE(a.cues[i].begin == b.cues[i].begin);
  }
}

TEST_CASE("where the bytes of a growing file are cut makes no difference") {
  const auto name = GENERATE("broken.vtt", "broken.srt", "notes.vtt");
  const auto format =
      std::string(name).ends_with(".vtt") ? CaptionFormat::web_vtt : CaptionFormat::sub_rip;
  const auto whole = read(format, file(name));
  for (const std::size_t step : {1u, 2u, 3u, 7u, 64u}) {
    const auto pieces = read(format, file(name), step);
    REQUIRE(pieces.cues == whole.cues);
    REQUIRE(pieces.faults == whole.faults);
  }
}

TEST_CASE("a cue of a growing file is given as soon as an empty line ends it") {
  CaptionReader reader(CaptionFormat::web_vtt);
  reader.feed("WEBVTT\n\n00:01.000 --> 00:02.000\nNo gran");
  REQUIRE(reader.take_cues().empty());
  reader.feed("ite so far.\n");
  REQUIRE(reader.take_cues().empty());
  reader.feed("\n");
  REQUIRE(texts_of(reader.take_cues()) == std::vector<std::string>{"No granite so far."});
  REQUIRE(reader.take_cues().empty());
}

TEST_CASE("CR, LF and CR LF end a line alike") {
  for (const std::string end : {"\r", "\n", "\r\n"}) {
    const auto all = read(CaptionFormat::web_vtt, "WEBVTT" + end + end + "00:01.000 --> 00:02.000" +
                                                      end + "hello" + end + end +
                                                      "00:03.000 --> 00:04.000" + end + "again");
    REQUIRE(all.faults.empty());
    REQUIRE(texts_of(all.cues) == std::vector<std::string>{"hello", "again"});
    REQUIRE(all.cues[1].line == 6);
  }
}

TEST_CASE("a file without the WebVTT signature is named and read all the same") {
  const auto all = read(CaptionFormat::web_vtt, "00:01.000 --> 00:02.000\nhello\n");
  REQUIRE(texts_of(all.cues) == std::vector<std::string>{"hello"});
  REQUIRE(lines_of(all.faults) == std::vector<std::size_t>{1});
}

TEST_CASE("an empty file has no cues and no faults") {
  REQUIRE(read(CaptionFormat::sub_rip, "").cues.empty());
  REQUIRE(read(CaptionFormat::sub_rip, "").faults.empty());
  REQUIRE(read(CaptionFormat::web_vtt, "WEBVTT").faults.empty());
}

TEST_CASE("what is too long for an event is named and skipped") {
  const std::string text(9000, 'a');
  const auto all = vtt("00:01.000 --> 00:02.000\n" + text + "\n\n00:03.000 --> 00:04.000\nkept\n");
  REQUIRE(texts_of(all.cues) == std::vector<std::string>{"kept"});
  REQUIRE(lines_of(all.faults) == std::vector<std::size_t>{3});
}

TEST_CASE("a line without end does not fill the memory") {
  CaptionReader reader(CaptionFormat::web_vtt);
  const std::string piece(1 << 20, 'x');
  for (int i = 0; i < 8; ++i) reader.feed(piece);
  reader.feed("\n\n00:03.000 --> 00:04.000\nkept\n");
  reader.finish();
  REQUIRE(texts_of(reader.take_cues()) == std::vector<std::string>{"kept"});
  REQUIRE_FALSE(reader.take_faults().empty());
}

TEST_CASE(
    "a cue becomes a voice note at the start time plus its own time plus the clock's offset") {
  const Cue cue{4, "a", 53s, 57s, "FIELD-1", "No granite so far."};
  const CaptionClock clock{parse_timestamp("2027-05-18T09:02:00.000+02:00").value(), -1500ms};
  const Event event = voice_note(cue, clock, "loop.vtt", "RECORDER");
  REQUIRE(to_string(event.at) == "2027-05-18T09:02:51.500+02:00");
  REQUIRE(event.from == "FIELD-1");
  const auto& note = std::get<VoiceNote>(event.body);
  REQUIRE(note.text == cue.text);
  REQUIRE(note.duration_seconds == 4.0);
  REQUIRE(parse_event(to_line(event)).value() == event);
}

TEST_CASE("a cue that seems to last more than a day keeps its words and has no length") {
  const Cue cue{4, "a", 53s, 87h, "FIELD-1", "No granite so far."};
  const CaptionClock clock{parse_timestamp("2027-05-18T09:02:00.000+02:00").value(), 0ms};
  const Event event = voice_note(cue, clock, "loop.vtt", "RECORDER");
  CHECK(parse_event(to_line(event)).value() == event);
  CHECK(std::get<VoiceNote>(event.body).text == cue.text);
  CHECK_FALSE(std::get<VoiceNote>(event.body).duration_seconds);
}

TEST_CASE("a file imported twice gives the same ids, another file others") {
  const Cue cue{4, "a", 53s, 57s, "", "No granite so far."};
  const CaptionClock clock{parse_timestamp("2027-05-18T09:02:00.000+00:00").value(), 0ms};
  const Event first = voice_note(cue, clock, "loop.vtt", "RECORDER");
  REQUIRE(first == voice_note(cue, clock, "loop.vtt", "RECORDER"));
  REQUIRE(first.id != voice_note(cue, clock, "other.vtt", "RECORDER").id);
  REQUIRE(first.from == "RECORDER");
  REQUIRE_FALSE(std::get<VoiceNote>(first.body).speaker.has_value());
}
