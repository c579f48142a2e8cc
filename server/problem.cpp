#include "server/problem.hpp"

#include <boost/beast/http/status.hpp>

namespace stonecall::server {

protocol::Json Problem::to_json() const {
  protocol::Json json;
  json["type"] = "about:blank";
  json["title"] =
      std::string(boost::beast::http::obsolete_reason(boost::beast::http::int_to_status(status)));
  json["status"] = status;
  json["detail"] = detail;
  json.update(more);
  return json;
}

}  // namespace stonecall::server
