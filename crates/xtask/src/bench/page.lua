-- What wrk asks for, how often, and what it writes at the end: one line of JSON.
-- EACH is the mean time in milliseconds between two requests of one connection; ADDRESSES names a file with a path a line.

local each = tonumber(os.getenv("EACH"))
local addresses = {}
for line in io.lines(os.getenv("ADDRESSES")) do
  addresses[#addresses + 1] = line
end

function delay()
  -- Evenly between half and one and a half of the mean, so that connections do not fall into step.
  return each * (0.5 + math.random())
end

function request()
  return wrk.format("GET", addresses[math.random(#addresses)])
end

function done(summary, latency, requests)
  local errors = summary.errors
  local failed = errors.connect + errors.read + errors.write + errors.status + errors.timeout
  io.write(string.format(
    '{"requests":%d,"seconds":%.2f,"failed":%d,"p50":%.3f,"p90":%.3f,"p99":%.3f,"most":%.3f}\n',
    summary.requests, summary.duration / 1e6, failed, latency:percentile(50) / 1e3,
    latency:percentile(90) / 1e3, latency:percentile(99) / 1e3, latency.max / 1e3))
end
