#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>
#include <thread>

#include <boost/asio/ip/tcp.hpp>
#include <boost/process.hpp>
#include <boost/process/extend.hpp>
#include <date/date.h>
#include <fmt/format.h>
#include <sys/prctl.h>

#include "console/commands/desk_options.hpp"
#include "console/commands/party_at_server.hpp"
#include "console/commands/score.hpp"
#include "console/commands/subcommand.hpp"
#include "console/commands/write_file.hpp"
#include "console/debrief/hidden_truth.hpp"
#include "console/debrief/made_up_exercise.hpp"
#include "console/desk/live_source.hpp"
#include "protocol/client.hpp"
#include "protocol/log.hpp"
#include "protocol/problem.hpp"

// Practice is the real thing: the server plays the log, the desk follows it live. What has not been
// played is not on the desk, in its search or on its ruler, since the desk never had it.
namespace stonecall::commands {
namespace {

namespace fs = std::filesystem;
namespace net = boost::asio;
namespace process = boost::process;

struct PracticeOptions : DeskOptions {
  std::string exercise;  ///< log or plan
  std::string from = "0:00";
  double speed = 1;
  std::string server_program;

  // Of a party that is made up.
  std::uint64_t seed = 1;
  std::string difficulty = "usual";
  std::optional<double> patchiness, surprise, obeys, errs, delay;
  std::optional<int> outages;
  std::optional<debrief::Difficulty::Talk> talk;
  bool only_spoken = false;
};

debrief::Difficulty difficulty_of(const PracticeOptions& options) {
  debrief::Difficulty difficulty = options.difficulty == "easy"   ? debrief::easy()
                                   : options.difficulty == "hard" ? debrief::hard()
                                                                  : debrief::usual();
  difficulty.talk = options.talk.value_or(difficulty.talk);
  difficulty.patchiness = options.patchiness.value_or(difficulty.patchiness);
  difficulty.surprise = options.surprise.value_or(difficulty.surprise);
  difficulty.obeys = options.obeys.value_or(difficulty.obeys);
  difficulty.errs = options.errs.value_or(difficulty.errs);
  difficulty.outages = options.outages.value_or(difficulty.outages);
  if (options.delay) difficulty.delay_seconds = options.delay;
  difficulty.scribe = !options.only_spoken;
  return difficulty;
}

/// What is practised on: a recorded log, or a plan by which an exercise is made up.
struct Material {
  fs::path played;                     ///< the log the server plays
  std::optional<protocol::Plan> plan;  ///< of the made-up exercise
  std::vector<std::string> speakers;   ///< names that are taken
};

fs::path practice_folder() {
  const fs::path folder = state_folder();
  return folder.empty() ? folder : folder / "practice";
}

/// Beside this program, where the build or an installation puts it, else on the path.
fs::path server_program(const std::string& said) {
  if (!said.empty()) return said;
  std::error_code error;
  const fs::path here = fs::read_symlink("/proc/self/exe", error).parent_path();
  for (const fs::path& place :
       {here / "stonecall-server", here.parent_path() / "server" / "stonecall-server"}) {
    if (fs::is_regular_file(place, error)) return place;
  }
  return process::search_path("stonecall-server").native();
}

/// The server ends with this program, however this program ends, and not before it: an interrupt at
/// the terminal is for the desk, which then still asks for the calls.
struct EndTogether : process::extend::handler {
  template <class Executor>
  void on_exec_setup(Executor&) const {
    ::setpgid(0, 0);
    ::prctl(PR_SET_PDEATHSIG, SIGTERM);
  }
};

class PlayingServer {
 public:
  PlayingServer(const fs::path& program, const std::vector<std::string>& arguments,
                const fs::path& complaints) {
    child_ = process::child(program.string(), process::args(arguments), process::std_out > out_,
                            process::std_err > complaints.string(), EndTogether{}, error_);
    if (error_)
      why_not_run_ = error_.message();
    else
      std::getline(out_, address_);
  }
  ~PlayingServer() {
    if (!child_.running(error_)) return;
    ::kill(child_.id(), SIGTERM);
    child_.wait(error_);
  }
  PlayingServer(const PlayingServer&) = delete;
  PlayingServer& operator=(const PlayingServer&) = delete;

  /// Empty: it did not start.
  const std::string& address() const { return address_; }
  /// Why the program could not be run; empty: it could.
  std::string why_not_run() const { return why_not_run_; }
  bool runs() { return child_.running(error_); }

 private:
  process::ipstream out_;
  std::error_code error_;
  process::child child_;
  std::string address_;
  std::string why_not_run_;
};

/// All that stands at the server, as lines: what came from `sender`, and the rest.
struct Lines {
  std::string theirs;
  std::string others;
  bool whole = false;  ///< all of it was read
};

Lines lines_at(PlayingServer& playing, const protocol::ServerAddress& server,
               const std::string& sender) {
  protocol::ClientOptions options;
  options.server = server;
  protocol::Client client(std::move(options));
  Lines lines;
  std::uint64_t read = 0;
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(30);
  while (playing.runs() && std::chrono::steady_clock::now() < deadline) {
    for (const auto& stored : client.take().events) {
      read = *stored->seq;
      // Numbers of a store would speak of gaps in either file.
      protocol::Event event = *stored;
      event.seq.reset();
      (event.from == sender ? lines.theirs : lines.others) += protocol::to_line(event) + '\n';
    }
    const auto link = client.link();
    lines.whole = link.phase == protocol::LinkState::Phase::live && read >= link.newest_seq;
    if (lines.whole) break;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  return lines;
}

/// Why the server did not hold its log, or go on with it; empty: it did.
std::optional<std::string> hold(const protocol::ServerAddress& server, bool held) {
  net::ip::tcp::iostream http;
  http.expires_after(std::chrono::seconds(5));
  http.connect(server.host, std::to_string(server.port));
  const std::string body = held ? R"({"paused":true})" : R"({"paused":false})";
  http << "POST /play HTTP/1.0\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
       << "Content-Length: " << body.size() << "\r\n\r\n"
       << body << std::flush;
  std::string version;
  int status = 0;
  if (http >> version >> status && status == 200) return std::nullopt;
  if (status == 0) return "the server does not answer";
  for (std::string field; std::getline(http, field) && field != "\r";) continue;
  const std::string answer(std::istreambuf_iterator<char>(http), {});
  return protocol::problem_detail(answer, protocol::Limits::event_bytes)
      .value_or("the server said " + std::to_string(status));
}

/// The record of a pause.
std::string pause_line(const std::string& adviser, protocol::Instant at,
                       protocol::Milliseconds span) {
  protocol::Event event;
  event.id = protocol::random_uuid();
  event.at.instant = at;
  event.from = adviser;
  protocol::Remark remark;
  remark.paused_seconds = std::chrono::duration<double>(span).count();
  remark.text = fmt::format("Practice paused for {:.0f} seconds.", *remark.paused_seconds);
  event.body = remark;
  return protocol::to_line(event) + '\n';
}

std::string text_in(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// A log that begins with the plan and is not over before the exercise is: the server's clock goes
/// by it. `stem` is where what is made up is written.
tl::expected<Material, std::string> made_up_from(protocol::Plan plan, const fs::path& stem,
                                                 const PracticeOptions& options) {
  if (const auto why_not = debrief::cannot_be_made_up(plan))
    return tl::unexpected(options.exercise + ": " + *why_not);
  plan.name += fmt::format(" (made up, {} {})", options.difficulty, options.seed);
  if (options.delay) plan.link.delay_seconds = *options.delay;
  Material material{stem.string() + ".begin.jsonl", plan, {}};
  for (const auto& person : plan.people)
    if (person.role == protocol::Side::field) material.speakers.push_back(person.name);
  return material;
}

tl::expected<Material, std::string> material_for(const PracticeOptions& options,
                                                 const fs::path& stem) {
  const auto plan = protocol::parse_plan(text_in(options.exercise));
  if (plan) return made_up_from(*plan, stem, options);
  const auto log = protocol::read_log_file(options.exercise);
  if (!log) return tl::unexpected(protocol::to_string(log.error()));
  if (log->events.empty())
    return tl::unexpected(
        options.exercise + " is neither a log, since no event could be read from it, nor a plan: " +
        protocol::to_string(plan.error()) + " (stonecall check says all that is wrong)");
  Material material{options.exercise, {}, {}};
  for (const auto& event : log->events) material.speakers.push_back(event->from);
  return material;
}

std::vector<debrief::StationTruth> truth_of(const debrief::MadeUpExercise& exercise,
                                            const protocol::Plan& plan) {
  std::vector<debrief::StationTruth> truth;
  for (const auto& station : plan.stations) {
    auto& of = truth.emplace_back(debrief::StationTruth{station.station, {}});
    for (const auto& share : exercise.truth(station.station))
      of.shares.push_back({share.rock, share.share * 100});
  }
  return truth;
}

int practice(PracticeOptions options) {
  const auto complain = [](const std::string& what) {
    std::cerr << "stonecall: practice: " << what << '\n';
    return 2;
  };
  const fs::path program = server_program(options.server_program);
  if (program.empty())
    return complain("stonecall-server was not found; say where it is with --server-program");
  const fs::path folder = practice_folder();
  std::error_code error;
  if (!folder.empty()) fs::create_directories(folder, error);
  if (folder.empty() || error)
    return complain("no folder to keep the record in; set XDG_STATE_HOME or HOME");

  const auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
  std::string run = date::format("%Y-%m-%d-%H%M%S", now) + "-" + options.name;
  std::ranges::replace(run, '/', '_');  // it names files
  const auto of_run = [&](const char* ending) { return (folder / run).string() + ending; };
  const std::string store = of_run(".store");
  const std::string complaints = of_run(".server");
  const auto material = material_for(options, folder / run);
  if (!material) return complain(material.error());
  if (std::ranges::count(material->speakers, options.name) > 0) {
    return complain(options.name +
                    " speaks in the exercise; take another --name, so that your calls can be told "
                    "apart");
  }
  std::vector<std::string> arguments{"--store",     store,
                                     "--listen",    "127.0.0.1:0",
                                     "--play",      material->played.string(),
                                     "--speed",     std::to_string(options.speed),
                                     "--play-from", options.from,
                                     "--play-wait", "--play-unseen"};
  std::string log = options.exercise;
  std::string ground;
  std::unique_ptr<debrief::MadeUpExercise> exercise;
  if (material->plan) {
    protocol::Event given;
    given.id = protocol::random_uuid();
    given.at = material->plan->start;
    given.from = "PLAN";
    given.body = protocol::PlanGiven{*material->plan};
    if (!write_file(material->played.string(), protocol::to_line(given) + '\n', std::cerr))
      return 2;
    const auto whole = protocol::from_minutes(material->plan->duration_minutes);
    arguments.insert(arguments.end(), {"--play-until", protocol::elapsed_text(whole * 2)});
    log = of_run(".jsonl");
    ground = of_run(".ground.json");
    exercise = std::make_unique<debrief::MadeUpExercise>(*material->plan, difficulty_of(options),
                                                         options.seed);
    if (!write_file(ground, debrief::to_text(truth_of(*exercise, *material->plan)), std::cerr))
      return 2;
  }
  const std::string record = of_run(".record.jsonl");
  const auto remove_parts = [&] {
    if (material->plan) fs::remove(material->played, error);
    for (const char* part : {".store", ".store-wal", ".store-shm", ".server"})
      fs::remove(of_run(part), error);
  };
  int left_with = 0;
  {
    PlayingServer server(program, arguments, complaints);
    const auto address = protocol::parse_server_address(server.address());
    if (!address) {
      std::string why = server.why_not_run();
      if (why.empty()) why = text_in(complaints);
      remove_parts();
      return complain("the server " + program.string() + " did not start: " + why);
    }
    desk::LiveSetup setup{*address, "", fs::path(options.exercise).filename().string(),
                          of_run(".unsent"), desk::Mode::practice};
    setup.recorded_party = exercise == nullptr;
    std::string pauses;
    setup.hold = [&](bool held) { return hold(*address, held); };
    setup.paused = [&](protocol::Instant at, protocol::Milliseconds span) {
      pauses += pause_line(options.name, at, span);
    };
    std::optional<PartyAtServer> party;
    left_with = sit_at(options, [&](desk::Source::Wake wake) {
      auto source =
          std::make_unique<desk::LiveSource>(std::move(setup), workers(), std::move(wake));
      if (exercise) party.emplace(*address, *material->plan, std::move(exercise));
      return source;
    });
    party.reset();
    const Lines lines = lines_at(server, *address, options.name);
    if (!lines.whole) {
      return complain(
          "the server ended before your calls could be taken from it; they are kept in " + store +
          ": stonecall-server --store " + store + " --export-to " + record +
          " writes them out, and stonecall score scores them. What the server said last is in " +
          complaints);
    }
    const bool came_to_nothing = left_with != 0 && lines.theirs.empty();
    if (!came_to_nothing && !write_file(record, lines.theirs + pauses, std::cerr)) return 2;
    if (material->plan && !write_file(log, lines.others, std::cerr)) return 2;
  }
  remove_parts();
  if (left_with != 0) return left_with;
  std::cout << "your calls are in " << record << '\n';
  if (material->plan)
    std::cout << "the exercise is in " << log << ", its ground in " << ground << '\n';
  ScoreFiles files;
  files.log = log;
  files.record = record;
  files.adviser = options.name;
  files.sheet = of_run(".html");
  files.runs = (folder / "runs.jsonl").string();
  files.day = run;
  files.ground = ground;
  return score(files, std::cout, std::cerr);
}

void add_made_up_options(CLI::App& command, PracticeOptions& options) {
  using Talk = debrief::Difficulty::Talk;
  const char* group = "Made-up party (with a plan)";
  command
      .add_option("--seed", options.seed, "the same seed and calls make the same exercise up again")
      ->capture_default_str()
      ->group(group);
  command
      .add_option("--difficulty", options.difficulty,
                  "easy, usual or hard; what follows goes on top")
      ->check(CLI::IsMember({"easy", "usual", "hard"}))
      ->capture_default_str()
      ->group(group);
  command.add_option("--talk", options.talk, "how much they tell by themselves")
      ->transform(CLI::CheckedTransformer(std::map<std::string, Talk>{
          {"terse", Talk::terse}, {"plain", Talk::plain}, {"talkative", Talk::talkative}}))
      ->group(group);
  const auto part = [&](const char* name, std::optional<double>& into, const char* what,
                        double most) {
    command.add_option(name, into, what)->check(CLI::Range(0.0, most))->group(group);
  };
  part("--patchiness", options.patchiness, "how alike neighbouring rocks are, 0 to 0.9", 0.9);
  part("--surprise", options.surprise, "how far the ground is from the plan's expectation, 0 to 1",
       1);
  part("--obeys", options.obeys, "chance that a call is acted on, 0 to 1", 1);
  part("--errs", options.errs, "chance that a sample is called by a wrong name, 0 to 1", 1);
  part("--delay", options.delay, "of the link, seconds one way", 1'200);
  command.add_option("--outages", options.outages, "of the link, four minutes each")
      ->check(CLI::Range(0, 20))
      ->group(group);
  command
      .add_flag("--only-spoken", options.only_spoken,
                "counts and shares are only spoken: you take them from the notes yourself")
      ->group(group);
}

}  // namespace

void add_practice(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<PracticeOptions>();
  CLI::App* command = app.add_subcommand(
      "practice", "Advise on an exercise as if it were live, and be scored at the end");
  command
      ->add_option(
          "exercise", options->exercise,
          "a recorded log (JSON Lines), or a plan (JSON): a made-up party then walks it and "
          "answers your calls")
      ->required()
      ->check(CLI::ExistingFile);
  command->add_option("--speed", options->speed, "times as fast as it happened")
      ->check(CLI::Range(0.1, 600.0))
      ->capture_default_str();
  command
      ->add_option("--from", options->from, "elapsed time to begin at; what came before is there")
      ->capture_default_str();
  command->add_option("--server-program", options->server_program,
                      "where stonecall-server is; without it beside this program or on the path");
  add_made_up_options(*command, *options);
  add_desk_options(*command, *options);
  command->footer(
      "Examples:\n"
      "  stonecall practice replay_logs/varrow_rim.jsonl --name WREN --speed 4\n"
      "  stonecall practice replay_logs/varrow_rim.plan.json --name WREN --difficulty hard --seed "
      "7");
  command->callback([options, &exit_code] { exit_code = practice(*options); });
}

}  // namespace stonecall::commands
