// Any bytes as a token file and as an Authorization header: no crash, each token that is taken
// opens the role it stands for and nothing else is a token.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "server/access.hpp"

using namespace stonecall::server;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const std::size_t cut = std::min(bytes.find('\0'), bytes.size());
  const std::string_view file = bytes.substr(0, cut);
  const std::string_view header = bytes.substr(std::min(cut + 1, bytes.size()));

  const auto access = Access::parse(file);
  if (!access) {
    if (access.error().what.empty()) std::abort();
    return 0;
  }
  if (access->open()) std::abort();  // a file without tokens must not open the server to all
  if (access->role_of("") || access->role_of("Bearer ")) std::abort();
  const auto role = access->role_of(header);
  if (!role) return 0;
  // What opened a role stands in the file, behind that role's name.
  std::string token(header.substr(std::string_view("bearer ").size()));
  token.erase(0, token.find_first_not_of(" \t\r\n\v\f"));
  token.erase(token.find_last_not_of(" \t\r\n\v\f") + 1);
  if (token.size() < 16 || file.find(token) == std::string_view::npos) std::abort();
  if (file.find(to_string(*role)) == std::string_view::npos) std::abort();
  return 0;
}
