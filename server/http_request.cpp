#include "server/http_request.hpp"

#include <algorithm>
#include <cctype>
#include <charconv>

#include <boost/algorithm/string/predicate.hpp>
#include <boost/asio/ip/address.hpp>
#include <boost/beast/core/string.hpp>
#include <boost/beast/http/error.hpp>
#include <boost/url/parse.hpp>

#include "server/intake.hpp"

namespace stonecall::server {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace urls = boost::urls;

Problem problem_of_reading(const beast::error_code& error) {
  if (error == http::error::body_limit) {
    return {413, "the body is larger than " + std::to_string(PostLimits::bytes) + " bytes"};
  }
  if (error == http::error::header_limit) {
    return {431, "the header is larger than " + std::to_string(header_bytes) + " bytes"};
  }
  return {400, "not an HTTP request that can be read: " + error.message()};
}

std::optional<Target> parse_target(std::string_view text) {
  // RFC 9112, 3.2.2: also the form that is sent to proxies.
  const auto url = text.starts_with('/') ? urls::parse_origin_form({text.data(), text.size()})
                                         : urls::parse_absolute_uri({text.data(), text.size()});
  if (!url) return std::nullopt;
  Target target;
  target.host = std::string(url->encoded_host_and_port());
  target.path = url->path();
  for (const auto& param : url->params()) {
    if (param.key == "after") target.after = param.value;
    if (param.key == "said") target.said = param.value;
  }
  return target;
}

tl::expected<Sequence, Problem> parse_after(const std::string& text) {
  Sequence after = 0;
  const char* const end = text.data() + text.size();
  const auto [stopped, error] = std::from_chars(text.data(), end, after);
  if (text.empty() || error != std::errc() || stopped != end) {
    return tl::unexpected(
        Problem{400, "\"after\": expected the seq of an event, a whole number from 0"});
  }
  return after;
}

bool names_this_machine(std::string_view host) {
  const std::size_t port = host.rfind(':');
  if (port != std::string_view::npos && host.find(']', port) == std::string_view::npos)
    host = host.substr(0, port);
  if (host.empty() || boost::iequals(host, "localhost")) return true;
  if (host.front() == '[' && host.back() == ']') host = host.substr(1, host.size() - 2);
  beast::error_code error;
  const auto address = net::ip::make_address(std::string(host), error);
  return !error && address.is_loopback();
}

std::string media_type(const http::fields& fields) {
  const auto value = fields[http::field::content_type];
  std::string type(value.substr(0, value.find(';')));
  type.erase(0, type.find_first_not_of(" \t"));
  type.erase(type.find_last_not_of(" \t") + 1);
  // Boost's to_lower asks the locale at each letter; that was a twentieth of a post.
  std::ranges::transform(type, type.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return type;
}

std::optional<Problem> wrong_form(const http::request_header<>& header) {
  // RFC 9112, 3.2.
  const std::size_t hosts = header.count(http::field::host);
  if (hosts > 1 || (hosts == 0 && header.version() >= 11))
    return Problem{400, "one Host field is wanted"};
  // RFC 9112, 6.1 and 6.3: where such a body ends nobody knows.
  const auto coding = header.find(http::field::transfer_encoding);
  if (coding != header.end() && (header.count(http::field::transfer_encoding) > 1 ||
                                 !beast::iequals(coding->value(), "chunked")))
    return Problem{501, "the only transfer coding taken is chunked"};
  if (header.count(http::field::content_encoding) > 0)
    return Problem{415, "a body is taken without Content-Encoding"};
  return std::nullopt;
}

bool is_websocket_key(std::string_view key) {
  constexpr std::string_view digits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  return key.size() == 24 && key.ends_with("==") && key.find_first_not_of(digits) == key.size() - 2;
}

bool from_elsewhere(const http::fields& fields) {
  const auto origin = fields.find(http::field::origin);
  if (origin == fields.end()) return false;
  const auto scheme = origin->value().find("://");
  if (scheme == beast::string_view::npos) return true;
  return !beast::iequals(origin->value().substr(scheme + 3), fields[http::field::host]);
}

}  // namespace stonecall::server
