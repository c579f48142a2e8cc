#include "server/http_answer.hpp"

#include <ctime>

#include <boost/beast/http/status.hpp>
#include <spdlog/fmt/chrono.h>

#include "protocol/event.hpp"

namespace stonecall::server {

namespace http = boost::beast::http;

namespace {

/// RFC 9110, 5.6.7: "Tue, 18 May 2027 07:07:25 GMT". The machine's clock, whatever is played.
const std::string& http_date() {
  thread_local std::time_t written = -1;
  thread_local std::string text;
  if (const std::time_t now = std::time(nullptr); now != written) {
    written = now;
    text = fmt::format("{:%a, %d %b %Y %H:%M:%S} GMT", fmt::gmtime(now));
  }
  return text;
}

}  // namespace

void add_field(std::string& text, std::string_view name, std::string_view value) {
  text.append(name).append(": ").append(value).append("\r\n");
}

std::string head_of(const Answer& answer, unsigned version, bool keep_alive) {
  const auto reason = http::obsolete_reason(http::int_to_status(answer.status));
  std::string text;
  text.reserve(512 + answer.fields.size() + answer.body.size());
  text.append(version == 10 ? "HTTP/1.0 " : "HTTP/1.1 ").append(std::to_string(answer.status));
  text.append(" ").append(reason.data(), reason.size()).append("\r\n");
  add_field(text, "Server", "stonecall");
  add_field(text, "Date", http_date());
  add_field(text, "Cache-Control", "no-store");
  add_field(text, "X-Content-Type-Options", "nosniff");
  add_field(text, "Content-Security-Policy", answer.policy);
  add_field(text, "Cross-Origin-Resource-Policy", "same-origin");
  add_field(text, "Referrer-Policy", "no-referrer");
  add_field(text, "Content-Type", answer.type);
  if (!keep_alive) add_field(text, "Connection", "close");
  if (keep_alive && version == 10) add_field(text, "Connection", "keep-alive");
  return text.append(answer.fields);
}

Answer answer_of(const Problem& problem) {
  using Json = protocol::Json;
  Answer answer{problem.status,
                problem_type,
                problem.to_json().dump(-1, ' ', false, Json::error_handler_t::replace),
                {}};
  if (problem.status == 401)
    add_field(answer.fields, "WWW-Authenticate", "Bearer realm=\"stonecall\"");
  if (problem.status == 503) add_field(answer.fields, "Retry-After", "1");
  return answer;
}

}  // namespace stonecall::server
