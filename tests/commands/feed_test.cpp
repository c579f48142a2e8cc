#include "console/commands/feed.hpp"

#include <csignal>
#include <filesystem>
#include <fstream>
#include <limits>
#include <sstream>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include <catch2/catch.hpp>

#include "tests/server/running.hpp"
#include "tests/support/folder.hpp"

// Against the server program itself, in a process of its own.
namespace {

using stonecall::commands::FeedOptions;
using stonecall::protocol::Event;
using stonecall::protocol::VoiceNote;
using stonecall::server::tests::events_at;
using stonecall::server::tests::Live;
using stonecall::server::tests::Program;
using stonecall::tests::Folder;

const std::string vtt =
    "WEBVTT\n\n"
    "00:00:05.000 --> 00:00:08.500\n<v FERN>Sample one, slate, bag thirty.\n\n"
    "00:00:12.000 --> 00:00:14.000\nNo chert so far.\n\n";

struct Result {
  int exit_code = 0;
  std::string out, err;
};

Result feed(const FeedOptions& options, std::stop_token stop = {}) {
  std::ostringstream out, err;
  const int exit_code = stonecall::commands::feed(options, stop, out, err);
  return {exit_code, out.str(), err.str()};
}

FeedOptions options_for(std::uint16_t port, const std::string& file) {
  FeedOptions options;
  options.captions = file;
  options.server = "127.0.0.1:" + std::to_string(port);
  options.start = "2027-05-18T09:00:00.000+02:00";
  return options;
}

std::string text_of(const Event& event) {
  return std::get<VoiceNote>(event.body).text;
}

std::string server_in(const Folder& folder) {
  return "--store " + (folder / "store").string();
}

/// A feed that follows its file, on a thread of its own.
class Following {
 public:
  explicit Following(FeedOptions options) : options_(std::move(options)) {
    options_.follow = true;
    feeding_ = std::jthread([this](std::stop_token stop) { result_ = feed(options_, stop); });
  }
  const Result& stopped() {
    feeding_.request_stop();
    if (feeding_.joinable()) feeding_.join();
    return result_;
  }

 private:
  FeedOptions options_;
  Result result_;
  std::jthread feeding_;
};

}  // namespace

TEST_CASE("each cue becomes a voice note at its time, from its speaker") {
  const Folder folder;
  Program server(server_in(folder));
  FeedOptions options = options_for(server.port(), folder.write("loop.vtt", vtt));
  options.offset_seconds = -1.5;
  options.from = "FIELD-2";
  const Result result = feed(options);
  CAPTURE(result.err);
  CHECK(result.exit_code == 0);
  CHECK(result.out == options.captions + ": 2 notes, 2 stored\n");
  const std::vector<Event> events = events_at(server.port());
  REQUIRE(events.size() == 2);
  CHECK(events[0].from == "FERN");
  CHECK(std::get<VoiceNote>(events[0].body).speaker == "FERN");
  CHECK(std::get<VoiceNote>(events[0].body).duration_seconds == 3.5);
  CHECK(to_string(events[0].at) == "2027-05-18T09:00:03.500+02:00");
  CHECK(events[1].from == "FIELD-2");
  CHECK(text_of(events[1]) == "No chert so far.");
}

TEST_CASE("a file that is fed again stores nothing twice, and what was added to it once") {
  const Folder folder;
  Program server(server_in(folder));
  const FeedOptions options = options_for(server.port(), folder.write("loop.vtt", vtt));
  REQUIRE(feed(options).exit_code == 0);
  REQUIRE(feed(options).exit_code == 0);
  CHECK(events_at(server.port()).size() == 2);
  folder.write("loop.vtt", vtt + "00:01:00.000 --> 00:01:02.000\nLeaving.\n");
  REQUIRE(feed(options).exit_code == 0);
  const auto events = events_at(server.port());
  REQUIRE(events.size() == 3);
  CHECK(text_of(events[2]) == "Leaving.");
}

TEST_CASE("fed again with another start, the notes are refused by line and stay as they are") {
  const Folder folder;
  Program server(server_in(folder));
  FeedOptions options = options_for(server.port(), folder.write("loop.vtt", vtt));
  REQUIRE(feed(options).exit_code == 0);
  options.start = "2027-05-18T10:00:00.000+02:00";
  const Result result = feed(options);
  CHECK(result.exit_code == 1);
  CHECK(result.err.find("line 3: refused by the server: ") != std::string::npos);
  CHECK(events_at(server.port()).size() == 2);
  options.source = "second day";
  CHECK(feed(options).exit_code == 0);
  CHECK(events_at(server.port()).size() == 4);
}

TEST_CASE("broken cues are named by line and skipped; the cues around them are posted") {
  const Folder folder;
  Program server(server_in(folder));
  const std::string file =
      folder.write("loop.srt",
                   "1\n00:00:05,000 --> 00:00:02,000\nFERN: ends before it starts\n\n"
                   "2\n00:00:06,000 --> 00:00:07,000\nFERN: caf\xE9\n\n"
                   "3\n00:00:08,000 --> 00:00:09,000\nFERN: no chert so far\n");
  const Result result = feed(options_for(server.port(), file));
  CHECK(result.exit_code == 1);
  CHECK(result.err.find(file + ": line 2: cue ends before it starts, skipped\n") !=
        std::string::npos);
  CHECK(result.err.find(file + ": line 7: not UTF-8, cue skipped\n") != std::string::npos);
  CHECK(result.out == file + ": 1 notes, 1 stored; 2 broken cues skipped\n");
  CHECK(events_at(server.port()).size() == 1);
}

TEST_CASE("a voice tag can be posted as from a sender of another name, and stays the speaker") {
  const Folder folder;
  Program server(server_in(folder));
  FeedOptions options = options_for(server.port(), folder.write("loop.vtt", vtt));
  options.voices = {{"FERN", "FIELD-1"}};
  REQUIRE(feed(options).exit_code == 0);
  const Event event = events_at(server.port()).at(0);
  CHECK(event.from == "FIELD-1");
  CHECK(std::get<VoiceNote>(event.body).speaker == "FERN");
}

TEST_CASE(
    "a followed file is posted as it grows, also in the middle of a line, until asked to stop") {
  const Folder folder;
  Program server(server_in(folder));
  FeedOptions options = options_for(server.port(), folder.write("loop.vtt", vtt));
  options.follow = true;
  Result result;
  std::jthread feeding([&](std::stop_token stop) { result = feed(options, stop); });
  Live live(server.port(), 0);
  CHECK(text_of(live.events(2).back()) == "No chert so far.");
  const auto append = [&](const std::string& bytes) {
    std::ofstream(folder / "loop.vtt", std::ios::app | std::ios::binary) << bytes;
  };
  append("00:01:00.000 --> 00:0");
  append("1:02.000\n<v FERN>Three chert he");
  append("re.\n\n00:01:05.000 --> 00:01:07.000\n<v FERN>Leaving the");
  CHECK(text_of(live.events(1).back()) == "Three chert here.");
  append(" ford.\n");
  feeding.request_stop();
  feeding.join();
  CAPTURE(result.err);
  CHECK(result.exit_code == 0);
  const auto events = events_at(server.port());
  REQUIRE(events.size() == 4);
  CHECK(text_of(events.back()) == "Leaving the ford.");
}

TEST_CASE("a followed file that is written anew is read from its beginning, without doubles") {
  const Folder folder;
  Program server(server_in(folder));
  const std::string longer(400, '.');
  FeedOptions options =
      options_for(server.port(), folder.write("loop.vtt", vtt + "NOTE " + longer + "\n\n"));
  options.follow = true;
  Result result;
  std::jthread feeding([&](std::stop_token stop) { result = feed(options, stop); });
  Live live(server.port(), 0);
  live.events(2);
  folder.write("loop.vtt", vtt + "00:01:00.000 --> 00:01:02.000\nBack.\n\n");
  CHECK(text_of(live.events(1).back()) == "Back.");
  feeding.request_stop();
  feeding.join();
  CHECK(result.exit_code == 0);
  CHECK(events_at(server.port()).size() == 3);
}

TEST_CASE("another file put in the place of a followed one is read too, were it longer") {
  const Folder folder;
  Program server(server_in(folder));
  Following following(options_for(server.port(), folder.write("loop.vtt", vtt)));
  Live live(server.port(), 0);
  live.events(2);
  std::ofstream(folder / "loop.vtt", std::ios::app) << "00:01:00.000 --> 00:01:02.000\nLast.\n";
  folder.write("next.vtt", "WEBVTT\n\nNOTE " + std::string(400, '.') +
                               "\n\n00:02:00.000 --> 00:02:02.000\nAnother.\n\n");
  std::filesystem::rename(folder / "next.vtt", folder / "loop.vtt");
  const auto posted = live.events(2);
  CHECK(text_of(posted.front()) == "Last.");
  CHECK(text_of(posted.back()) == "Another.");
  CHECK(following.stopped().exit_code == 0);
}

TEST_CASE("a followed file that is not there yet is waited for") {
  const Folder folder;
  Program server(server_in(folder));
  Following following(options_for(server.port(), (folder / "late.srt").string()));
  Live live(server.port(), 0);
  folder.write("new.srt", "1\n00:00:05,000 --> 00:00:07,000\nFERN: We are at the ford.\n\n");
  std::filesystem::rename(folder / "new.srt", folder / "late.srt");
  const auto posted = live.events(1);
  CHECK(text_of(posted.back()) == "We are at the ford.");
  CHECK(posted.back().from == "FERN");
  CHECK(following.stopped().exit_code == 0);
}

TEST_CASE("stopped while it waits for a file, it says that nothing was posted") {
  const Folder folder;
  FeedOptions options = options_for(1, (folder / "never.vtt").string());
  options.follow = true;
  std::stop_source stop;
  stop.request_stop();
  const Result result = feed(options, stop.get_token());
  CHECK(result.exit_code == 0);
  CHECK(result.out == options.captions + ": never appeared, nothing posted\n");
}

TEST_CASE("a followed file waits for a server that was killed, and loses nothing") {
  const Folder folder;
  FeedOptions options;
  Result result;
  std::jthread feeding;
  {
    Program server(server_in(folder));
    options = options_for(server.port(), folder.write("loop.vtt", vtt));
    options.follow = true;
    feeding = std::jthread([&](std::stop_token stop) { result = feed(options, stop); });
    Live(server.port(), 0).events(2);
    server.signal(SIGKILL);
    server.wait();
  }
  std::ofstream(folder / "loop.vtt", std::ios::app) << "00:01:00.000 --> 00:01:02.000\nBack.\n\n";
  Program server(server_in(folder) + " --listen " + options.server);
  REQUIRE(server.port() != 0);
  CHECK(text_of(Live(server.port(), 0).events(3).back()) == "Back.");
  feeding.request_stop();
  feeding.join();
  CAPTURE(result.err);
  CHECK(result.exit_code == 0);
  const std::string refused = "cannot reach the server";
  const std::size_t first = result.err.find(refused);
  CHECK((first == std::string::npos ||
         result.err.find(refused, first + 1) == std::string::npos));  // said once
}

TEST_CASE("without a server a whole file is given up after the patience that was asked for") {
  const Folder folder;
  std::uint16_t port = 0;
  {
    Program server(server_in(folder));
    port = server.port();
  }
  FeedOptions options = options_for(port, folder.write("loop.vtt", vtt));
  options.patience_seconds = 0;
  const Result result = feed(options);
  CHECK(result.exit_code == 3);
  CHECK(result.out == options.captions + ": 2 notes, 0 stored, 2 not taken by the server\n");
}

TEST_CASE("what cannot be used is named before anything is sent") {
  const Folder folder;
  const std::string file = folder.write("loop.vtt", vtt);
  const auto refused = [](FeedOptions options, const std::string& named) {
    const Result result = feed(options);
    CHECK(result.exit_code == 2);
    CHECK(result.err.find(named) != std::string::npos);
  };
  FeedOptions options = options_for(1, file);
  options.start = "nine o'clock";
  refused(options, "--start: ");
  options = options_for(1, file);
  options.server = "here";
  refused(options, "--server: ");
  options = options_for(1, file);
  options.offset_seconds = std::numeric_limits<double>::infinity();
  refused(options, "--offset: ");
  refused(options_for(1, folder.write("loop.txt", vtt)), "expected WebVTT");
  refused(options_for(1, (folder / "none.vtt").string()), "none.vtt: No such file");
}
