#pragma once

#include <string>

#include "server/context.hpp"

namespace stonecall::server {

inline constexpr const char* metrics_type =
    "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// The server's counters and gauges as OpenMetrics text.
std::string metrics_text(const Context& context);

/// `status` ("ok", or why posts are not taken), newest seq, desks that follow, the server's time.
protocol::Json health(const Context& context);

}  // namespace stonecall::server
