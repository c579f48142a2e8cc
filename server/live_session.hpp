#pragma once

#include <memory>
#include <optional>
#include <string_view>

#include <boost/asio/awaitable.hpp>
#include <boost/beast/http/message.hpp>
#include <boost/beast/http/string_body.hpp>

#include "protocol/byte_stream.hpp"
#include "server/context.hpp"

namespace stonecall::server {

inline constexpr std::string_view live_subprotocol = "stonecall.v1";

struct LiveRequest {
  boost::beast::http::request<boost::beast::http::string_body> upgrade;
  std::optional<Sequence> after;  ///< follow from here; without it the connection only posts
  Role role = Role::observer;
};

/// Serves GET /live after its checks: events from the store, then as they are committed; a
/// heartbeat each second; posts and their results. Ends with the connection.
boost::asio::awaitable<void> serve_live(Context& context, protocol::ByteStream stream,
                                        std::shared_ptr<Connection> connection,
                                        LiveRequest request);

}  // namespace stonecall::server
