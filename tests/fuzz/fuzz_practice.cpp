// Any bytes as what practice and replay keep beside a log: remarks and pins with stated chances,
// earlier runs, the truth of a made-up ground. No crash; what was read is written and read again as
// it is, and where a sheet is written all of it is text.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>
#include <string_view>

#include "console/commands/score.hpp"
#include "console/debrief/hidden_truth.hpp"
#include "console/debrief/score_sheet.hpp"
#include "tests/fuzz/folder.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;

namespace {

void as_truth(std::string_view bytes) {
  const auto truth = debrief::parse_truth(bytes);
  if (!truth) return require(!truth.error().what.empty());
  require(debrief::parse_truth(debrief::to_text(*truth)) == truth);
}

void as_run(std::string_view bytes) {
  const auto run = debrief::parse_practice_run(bytes);
  if (!run) return require(!run.error().what.empty());
  require(!run->mean_regret || std::isfinite(*run->mean_regret));
  require(!run->brier || std::isfinite(*run->brier));
  require(debrief::parse_practice_run(debrief::to_line(*run)) == *run);
}

// The exercise that the remarks are beside.
constexpr std::string_view exercise =
    R"({"id":"00000000-0000-4000-8000-000000000001","kind":"arrival","at":"2027-05-18T09:10:00.000+02:00","from":"FIELD-1","seq":1,"station":"Ford"})"
    "\n"
    R"({"id":"00000000-0000-4000-8000-000000000002","kind":"tally","at":"2027-05-18T09:16:00.000+02:00","from":"FIELD-1","seq":2,"counts":[{"rock":"gneiss","count":8},{"rock":"slate","count":2}],"total":10})"
    "\n";

void as_remarks(std::string_view bytes) {
  test::empty_fuzz_folder();
  const auto at = [](const char* name) { return (test::fuzz_folder() / name).string(); };
  test::put(at("log.jsonl"), exercise);
  test::put(at("log.jsonl.remarks"), bytes);
  test::put(at("runs.jsonl"), bytes);
  commands::ScoreFiles files;
  files.log = at("log.jsonl");
  files.record = at("log.jsonl.remarks");
  files.adviser = "WREN";
  files.sheet = at("sheet.html");
  files.runs = at("runs.jsonl");
  files.day = "2027-05-18";
  files.came_true = {1};
  std::ostringstream out, err;
  const int code = commands::score(files, out, err);
  require(code == 0 || code == 2);
  if (code == 2) return require(!err.str().empty());
  require(test::text_in(files.sheet).ends_with("</html>\n"));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  as_truth(bytes);
  as_run(bytes);
  as_remarks(bytes);
  return 0;
}
