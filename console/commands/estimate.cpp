#include "console/commands/estimate.hpp"

#include <charconv>
#include <istream>
#include <iterator>
#include <ostream>
#include <vector>

#include "console/estimate/calculator.hpp"

namespace stonecall::commands {
namespace {

using protocol::Fault;
using protocol::Json;
using protocol::Result;

constexpr std::size_t kMostBytes = 1'000'000;
constexpr std::string_view kBetweenNumbers = " \t\r,;";

Result<std::vector<std::int64_t>> whole_numbers(std::string_view row, std::size_t line) {
  std::vector<std::int64_t> numbers;
  while (true) {
    row.remove_prefix(std::min(row.find_first_not_of(kBetweenNumbers), row.size()));
    if (row.empty()) return numbers;
    const auto word = row.substr(0, row.find_first_of(kBetweenNumbers));
    std::int64_t number = 0;
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), number);
    if (error != std::errc{} || end != word.data() + word.size())
      return tl::unexpected(Fault{"",
                                  "\"" + std::string(word.substr(0, 20)) +
                                      "\" is not a whole number; expected a row of counts, as "
                                      "\"7 2 1\", or a JSON object",
                                  line});
    numbers.push_back(number);
    row.remove_prefix(word.size());
  }
}

Result<Json> request_from_table(std::string_view text) {
  std::vector<std::vector<std::int64_t>> looks;
  for (std::size_t line = 1; !text.empty(); ++line) {
    const auto end = std::min(text.find('\n'), text.size());
    const auto row = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    auto numbers = whole_numbers(row.substr(0, row.find('#')), line);
    if (!numbers) return tl::unexpected(numbers.error());
    if (numbers->empty()) continue;
    if (!looks.empty() && numbers->size() != looks.front().size())
      return tl::unexpected(
          Fault{"",
                std::to_string(numbers->size()) + " numbers where the rows before have " +
                    std::to_string(looks.front().size()) + "; a kind not met is a 0",
                line});
    looks.push_back(std::move(*numbers));
  }
  if (looks.empty())
    return tl::unexpected(Fault{"", "nothing to work out: no counts and no JSON object", {}});
  return looks.size() == 1 ? Json{{"counts", looks.front()}} : Json{{"looks", looks}};
}

}  // namespace

Result<Json> calculator_request(std::string_view text) {
  if (text.size() > kMostBytes) return tl::unexpected(Fault{"", "more than 1 MB", {}});
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first != std::string_view::npos && text[first] == '{')
    return protocol::parse_json(text, kMostBytes);
  return request_from_table(text);
}

int estimate(std::istream& in, std::ostream& out, std::ostream& err) {
  std::string text;
  // One byte more than may be, so that too much is seen without reading all of it.
  for (std::istreambuf_iterator<char> at(in), end; at != end && text.size() <= kMostBytes; ++at)
    text += *at;
  const auto answer = calculator_request(text).and_then(estimate::calculate);
  if (!answer) {
    err << "stonecall: " << protocol::to_string(answer.error()) << '\n';
    return 2;
  }
  out << answer->dump(2) << '\n';
  return 0;
}

}  // namespace stonecall::commands
