#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include <boost/beast/core/error.hpp>
#include <boost/beast/http/fields.hpp>
#include <boost/beast/http/message.hpp>
#include <tl/expected.hpp>

#include "server/problem.hpp"
#include "server/store.hpp"

namespace stonecall::server {

inline constexpr std::uint32_t header_bytes = 16 * 1024;  ///< longest that is read

/// Why a request could not be read.
Problem problem_of_reading(const boost::beast::error_code& error);

/// The path and what is asked of it.
struct Target {
  std::string host;  ///< where the target says it itself
  std::string path;
  std::optional<std::string> after;
  std::optional<std::string> said;
};

/// Nothing where the text is neither a path nor an absolute URL.
std::optional<Target> parse_target(std::string_view text);

/// The number of the last event that the client has.
tl::expected<Sequence, Problem> parse_after(const std::string& text);

/// Names under which only this machine is reached. Without tokens no other is taken: a page of
/// another site could let its own name point here, and would then be of the same site.
bool names_this_machine(std::string_view host);

/// The media type without its parameters, in lower case.
std::string media_type(const boost::beast::http::fields& fields);

/// What cannot be taken as it stands, by the rules of HTTP itself.
std::optional<Problem> wrong_form(const boost::beast::http::request_header<>& header);

/// RFC 6455, 4.2.1: sixteen bytes in Base64.
bool is_websocket_key(std::string_view key);

/// A page on another site may not post through a visitor's browser.
bool from_elsewhere(const boost::beast::http::fields& fields);

}  // namespace stonecall::server
