#include "console/advise/telling.hpp"

#include <ostream>

namespace stonecall::advise {

Telling Telling::moment(protocol::Milliseconds elapsed) {
  Telling telling(protocol::elapsed_minutes_text(elapsed));
  telling.moments_.push_back({0, telling.elapsed_.size(), elapsed});
  return telling;
}

Telling& Telling::operator+=(const Telling& more) {
  const std::size_t before = elapsed_.size();
  for (Moment moment : more.moments_) {
    moment.begin += before;
    moments_.push_back(moment);
  }
  elapsed_ += more.elapsed_;
  return *this;
}

Telling& Telling::operator+=(std::string_view more) {
  elapsed_ += more;
  return *this;
}

std::string Telling::told(const std::function<std::string(protocol::Milliseconds)>& write) const {
  std::string out;
  std::size_t done = 0;
  for (const Moment& moment : moments_) {
    out.append(elapsed_, done, moment.begin - done);
    out += write(moment.elapsed);
    done = moment.begin + moment.size;
  }
  return out.append(elapsed_, done);
}

std::ostream& operator<<(std::ostream& out, const Telling& telling) {
  return out << telling.elapsed();
}

}  // namespace stonecall::advise
